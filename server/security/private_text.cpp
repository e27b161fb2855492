#include "server/security/private_text.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <fstream>
#include <system_error>

#include "journal/private_file.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

namespace fs = std::filesystem;

constexpr mode_t only_owner = 0600;

[[noreturn]] void fail(const fs::path& file, const char* what) {
    throw Unavailable(file.string() + ": " + what + ": " +
                      std::error_code{errno, std::generic_category()}.message());
}

/// A file descriptor that closes itself.
class Descriptor {
public:
    explicit Descriptor(int number) : number_(number) {}
    ~Descriptor() {
        if (number_ >= 0) {
            ::close(number_);
        }
    }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    int number() const { return number_; }

private:
    int number_;
};

void write_all(const Descriptor& to, std::string_view text, const fs::path& file) {
    while (!text.empty()) {
        const ssize_t count = ::write(to.number(), text.data(), text.size());
        if (count < 0 && errno != EINTR) {
            fail(file, "cannot be written");
        }
        text.remove_prefix(count < 0 ? 0 : static_cast<std::size_t>(count));
    }
}

}  // namespace

FileLock::FileLock(const fs::path& file)
    : descriptor_(
          ::open((file.string() + ".lock").c_str(), O_RDWR | O_CREAT | O_CLOEXEC, only_owner)) {
    if (descriptor_ < 0 || ::flock(descriptor_, LOCK_EX) != 0) {
        if (descriptor_ >= 0) {
            ::close(descriptor_);
        }
        fail(file, "its lock cannot be taken");
    }
}

FileLock::~FileLock() {
    ::close(descriptor_);
}

std::optional<std::string> read_private_text(const fs::path& file) {
    const Descriptor from{::open(file.c_str(), O_RDONLY | O_CLOEXEC)};
    if (from.number() < 0) {
        if (errno == ENOENT) {
            return std::nullopt;
        }
        fail(file, "cannot be read");
    }
    struct stat about {};
    if (::fstat(from.number(), &about) != 0) {
        fail(file, "cannot be read");
    }
    if ((about.st_mode & 077U) != 0 || about.st_uid != ::geteuid()) {
        throw InputError(file.string() +
                         ": others may read or change it; give it to this user alone (chown, "
                         "chmod 600)");
    }
    std::string text;
    std::array<char, 65536> block{};
    for (;;) {
        const ssize_t count = ::read(from.number(), block.data(), block.size());
        if (count == 0) {
            return text;
        }
        if (count < 0 && errno != EINTR) {
            fail(file, "cannot be read");
        }
        text.append(block.data(), count < 0 ? 0 : static_cast<std::size_t>(count));
    }
}

void append_private_text(const fs::path& file, std::string_view text) {
    const Descriptor to{::open(file.c_str(), O_WRONLY | O_APPEND | O_CLOEXEC)};
    if (to.number() < 0) {
        fail(file, "cannot be written");
    }
    write_all(to, text, file);
    if (::fsync(to.number()) != 0) {
        fail(file, "cannot be written");
    }
}

void replace_private_text(const fs::path& file, std::string_view text) {
    journal::PrivateFile made{file, journal::Existing::replaced};
    std::ofstream out{made.part(), std::ios::binary};
    out << text;
    out.close();
    if (!out) {
        fail(file, "cannot be written");
    }
    made.finish();
}

}  // namespace waybourne::server
