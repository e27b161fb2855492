#pragma once
/// Files that hold personal data: for their owner's eyes, and whole or not there.

#include <filesystem>

namespace waybourne::journal {

/// Makes an empty file that only its owner may read and write (mode 0600), unless it is there.
/// @throws NotFound when the folder is not there; StorageReadOnly; StorageFull
void make_private(const std::filesystem::path& file);

/// What becomes of a file that has the name already.
enum class Existing { refused, replaced };

/// A new file that gets its name only when it is complete.
class PrivateFile {
public:
    /// @throws Conflict when `file` exists and is not to be replaced; as `make_private`
    explicit PrivateFile(std::filesystem::path file, Existing existing = Existing::refused);
    /// Takes away what was not finished.
    ~PrivateFile();
    PrivateFile(const PrivateFile&) = delete;
    PrivateFile& operator=(const PrivateFile&) = delete;

    /// Where to write meanwhile: beside it, with `.part` appended.
    const std::filesystem::path& part() const { return part_; }

    /// Syncs what was written, gives it its name, and syncs the folder.
    /// @throws StorageFailed
    void finish();

private:
    std::filesystem::path file_;
    std::filesystem::path part_;
    bool is_finished_ = false;
};

}  // namespace waybourne::journal
