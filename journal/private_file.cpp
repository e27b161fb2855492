#include "journal/private_file.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "journal/journal.hpp"

namespace waybourne::journal {

namespace fs = std::filesystem;

namespace {

void sync(const fs::path& path) {
    const int descriptor = open(path.c_str(), O_RDONLY | O_CLOEXEC);
    const bool is_synced = descriptor >= 0 && fsync(descriptor) == 0;
    const int error = errno;
    if (descriptor >= 0) {
        close(descriptor);
    }
    if (!is_synced) {
        throw StorageFailed(path.string() + ": " + std::strerror(error));
    }
}

}  // namespace

namespace {

/// @param more `O_EXCL`: it must not be there, not even as a link to somewhere else
void make(const fs::path& file, int more) {
    constexpr mode_t for_the_owner = 0600;
    const int descriptor = open(file.c_str(), O_WRONLY | O_CREAT | O_CLOEXEC | more, for_the_owner);
    if (descriptor >= 0) {
        close(descriptor);
        return;
    }
    const std::string what = file.string() + ": " + std::strerror(errno);
    switch (errno) {
        case ENOENT:
        case ENOTDIR:
            throw NotFound(what);
        case ENOSPC:
        case EDQUOT:
            throw StorageFull(what);
        default:
            throw StorageReadOnly(what);
    }
}

}  // namespace

void make_private(const fs::path& file) {
    make(file, 0);
}

PrivateFile::PrivateFile(fs::path file, Existing existing)
    : file_(std::move(file)), part_(file_.string() + ".part") {
    if (existing == Existing::refused && fs::exists(file_)) {
        throw Conflict(file_.string() + " exists already");
    }
    std::error_code ignored;
    fs::remove(part_, ignored);  // one that a killed process left behind
    make(part_, O_EXCL);
}

PrivateFile::~PrivateFile() {
    if (!is_finished_) {
        std::error_code ignored;
        fs::remove(part_, ignored);
    }
}

void PrivateFile::finish() {
    sync(part_);
    std::error_code failed;
    fs::rename(part_, file_, failed);
    if (failed) {
        throw StorageFailed(file_.string() + ": " + failed.message());
    }
    is_finished_ = true;
    const fs::path folder = file_.parent_path();
    sync(folder.empty() ? fs::path{"."} : folder);
}

}  // namespace waybourne::journal
