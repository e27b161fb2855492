#include "tests/journal/fault_vfs.hpp"

#include <algorithm>
#include <fstream>
#include <new>
#include <sstream>

namespace waybourne::journal::test {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t sector = 512;

/// What SQLite holds of an open file; the real one follows in the same memory.
struct OpenFile {
    sqlite3_file base;
    FaultVfs* vfs;
    std::string* path;  // none: not watched
    sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

OpenFile* of(sqlite3_file* file) {
    return reinterpret_cast<OpenFile*>(file);
}

const sqlite3_io_methods* real_methods(sqlite3_file* file) {
    return of(file)->real()->pMethods;
}

int close_file(sqlite3_file* file) {
    const int code = real_methods(file)->xClose(of(file)->real());
    delete of(file)->path;
    return code;
}

int read_file(sqlite3_file* file, void* bytes, int count, sqlite3_int64 offset) {
    return real_methods(file)->xRead(of(file)->real(), bytes, count, offset);
}

int write_file(sqlite3_file* file, const void* bytes, int count, sqlite3_int64 offset) {
    return of(file)->path == nullptr
               ? real_methods(file)->xWrite(of(file)->real(), bytes, count, offset)
               : of(file)->vfs->write(*of(file)->path, of(file)->real(), bytes, count, offset);
}

int truncate_file(sqlite3_file* file, sqlite3_int64 size) {
    return of(file)->path == nullptr
               ? real_methods(file)->xTruncate(of(file)->real(), size)
               : of(file)->vfs->truncate(*of(file)->path, of(file)->real(), size);
}

int sync_file(sqlite3_file* file, int flags) {
    return of(file)->path == nullptr ? real_methods(file)->xSync(of(file)->real(), flags)
                                     : of(file)->vfs->sync(*of(file)->path);
}

int file_size(sqlite3_file* file, sqlite3_int64* size) {
    return real_methods(file)->xFileSize(of(file)->real(), size);
}

int lock_file(sqlite3_file* file, int lock) {
    return real_methods(file)->xLock(of(file)->real(), lock);
}

int unlock_file(sqlite3_file* file, int lock) {
    return real_methods(file)->xUnlock(of(file)->real(), lock);
}

int check_lock(sqlite3_file* file, int* result) {
    return real_methods(file)->xCheckReservedLock(of(file)->real(), result);
}

int control(sqlite3_file* file, int operation, void* argument) {
    return real_methods(file)->xFileControl(of(file)->real(), operation, argument);
}

int sector_size(sqlite3_file* /*file*/) {
    return sector;
}

int characteristics(sqlite3_file* /*file*/) {
    return 0;  // promises nothing: no safe overwriting, no atomic writes
}

int map_memory(sqlite3_file* file, int region, int size, int extend, void volatile** out) {
    return real_methods(file)->xShmMap(of(file)->real(), region, size, extend, out);
}

int lock_memory(sqlite3_file* file, int offset, int count, int flags) {
    return real_methods(file)->xShmLock(of(file)->real(), offset, count, flags);
}

void barrier(sqlite3_file* file) {
    real_methods(file)->xShmBarrier(of(file)->real());
}

int unmap_memory(sqlite3_file* file, int remove) {
    return real_methods(file)->xShmUnmap(of(file)->real(), remove);
}

const sqlite3_io_methods methods{
    2,           close_file,  read_file,    write_file, truncate_file, sync_file,       file_size,
    lock_file,   unlock_file, check_lock,   control,    sector_size,   characteristics, map_memory,
    lock_memory, barrier,     unmap_memory, nullptr,    nullptr,
};

FaultVfs& vfs_of(sqlite3_vfs* vfs) {
    return *static_cast<FaultVfs*>(vfs->pAppData);
}

std::string content_of(const fs::path& path) {
    std::ostringstream content;
    content << std::ifstream{path, std::ios::binary}.rdbuf();
    return content.str();
}

void apply(std::string& content, const FaultVfs::Write& write) {
    if (write.is_truncation) {
        content.resize(std::min(content.size(), write.offset));
        return;
    }
    content.resize(std::max(content.size(), write.offset + write.bytes.size()));
    content.replace(write.offset, write.bytes.size(), write.bytes);
}

/// Some sectors of a write, as chance has it.
void apply_some(std::string& content, const FaultVfs::Write& write, std::mt19937_64& random) {
    for (std::size_t begin = 0; begin < write.bytes.size(); begin += sector) {
        if (random() % 2 == 0) {
            apply(content, {write.offset + begin, write.bytes.substr(begin, sector)});
        }
    }
}

}  // namespace

FaultVfs::FaultVfs() : real_(sqlite3_vfs_find(nullptr)) {
    static int count = 0;
    name_ = "fault-" + std::to_string(++count);
    vfs_ = *real_;
    vfs_.zName = name_.c_str();
    vfs_.pAppData = this;
    vfs_.pNext = nullptr;
    vfs_.szOsFile = static_cast<int>(sizeof(OpenFile)) + real_->szOsFile;
    vfs_.xOpen = [](sqlite3_vfs* vfs, const char* path, sqlite3_file* file, int flags, int* out) {
        return vfs_of(vfs).open(path, file, flags, out);
    };
    vfs_.xDelete = [](sqlite3_vfs* vfs, const char* path, int sync_folder) {
        return vfs_of(vfs).remove(path, sync_folder);
    };
    sqlite3_vfs_register(&vfs_, 0);
}

FaultVfs::~FaultVfs() {
    sqlite3_vfs_unregister(&vfs_);
}

int FaultVfs::open(const char* path, sqlite3_file* file, int flags, int* out_flags) {
    auto* opened = new (file) OpenFile{{nullptr}, this, nullptr};
    const bool is_watched =
        (flags & (SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL)) != 0;
    const std::string before = is_watched ? content_of(path) : "";
    const int code = real_->xOpen(real_, path, opened->real(), flags, out_flags);
    if (opened->real()->pMethods == nullptr) {
        return code;
    }
    opened->base.pMethods = &methods;
    if (is_watched) {
        opened->path = new std::string(path);
        const std::lock_guard lock{mutex_};
        files_.try_emplace(path, File{before});
    }
    return code;
}

int FaultVfs::remove(const char* path, int sync_folder) {
    const std::lock_guard lock{mutex_};
    files_.erase(path);
    return real_->xDelete(real_, path, sync_folder);
}

void FaultVfs::on_operation(std::function<void(std::size_t)> hook) {
    const std::lock_guard lock{mutex_};
    hook_ = std::move(hook);
    operations_ = 0;
}

void FaultVfs::answer_writes(int code) {
    const std::lock_guard lock{mutex_};
    write_answer_ = code;
}

void FaultVfs::answer_syncs(int code) {
    const std::lock_guard lock{mutex_};
    sync_answer_ = code;
}

void FaultVfs::lie_about_syncs() {
    const std::lock_guard lock{mutex_};
    lies_ = true;
}

int FaultVfs::write(const std::string& path, sqlite3_file* real, const void* bytes, int count,
                    sqlite3_int64 offset) {
    const std::lock_guard lock{mutex_};
    if (hook_) {
        hook_(++operations_);
    }
    if (write_answer_ != SQLITE_OK) {
        return write_answer_;
    }
    files_[path].since.push_back(
        {static_cast<std::size_t>(offset),
         std::string(static_cast<const char*>(bytes), static_cast<std::size_t>(count))});
    return real->pMethods->xWrite(real, bytes, count, offset);
}

int FaultVfs::truncate(const std::string& path, sqlite3_file* real, sqlite3_int64 size) {
    const std::lock_guard lock{mutex_};
    files_[path].since.push_back({static_cast<std::size_t>(size), "", true});
    return real->pMethods->xTruncate(real, size);
}

int FaultVfs::sync(const std::string& path) {
    const std::lock_guard lock{mutex_};
    if (hook_) {
        hook_(++operations_);
    }
    if (sync_answer_ != SQLITE_OK) {
        return sync_answer_;
    }
    if (!lies_) {
        File& file = files_[path];
        for (const Write& write : file.since) {
            apply(file.synced, write);
        }
        file.since.clear();
    }
    return SQLITE_OK;
}

void FaultVfs::cut_power(const fs::path& to, std::mt19937_64& random) const {
    const std::lock_guard lock{mutex_};
    for (const auto& [path, file] : files_) {
        std::string content = file.synced;
        for (const Write& write : file.since) {
            switch (random() % 3) {
                case 0:
                    break;
                case 1:
                    apply(content, write);
                    break;
                default:
                    apply_some(content, write, random);
            }
        }
        std::ofstream{to / fs::path{path}.filename(), std::ios::binary} << content;
    }
}

}  // namespace waybourne::journal::test
