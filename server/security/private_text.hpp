#pragma once
/// Small files for their owner's eyes that are replaced whole.

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace waybourne::server {

/// While it lives, no other process changes what lies beside `file`.
class FileLock {
public:
    /// Waits for whoever holds it. Makes `file` + `.lock`.
    /// @throws Unavailable when the folder cannot be written
    explicit FileLock(const std::filesystem::path& file);
    ~FileLock();
    FileLock(const FileLock&) = delete;
    FileLock& operator=(const FileLock&) = delete;

private:
    int descriptor_;
};

/// The whole file; none when it is not there.
/// @throws InputError when anybody but its owner may read or write it, or it is another's
std::optional<std::string> read_private_text(const std::filesystem::path& file);

/// At the end of a file that is there; durable when it returns.
/// @throws Unavailable
void append_private_text(const std::filesystem::path& file, std::string_view text);

/// By `journal::PrivateFile`: mode 0600, durable before it gets its name.
/// @throws Unavailable; NotFound when its folder is not there
void replace_private_text(const std::filesystem::path& file, std::string_view text);

}  // namespace waybourne::server
