#pragma once
/// A disk that can be cut from the power, filled up or broken, as SQLite sees it.

#include <sqlite3.h>

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <mutex>
#include <random>
#include <string>
#include <vector>

namespace waybourne::journal::test {

/// A VFS of SQLite over the real one. It remembers what has been written since the last sync of
/// each file; a power cut keeps what was synced and, of the rest, any sectors in any combination
/// (512 bytes each, the classic disk sector: common practice, no source). Removing a file counts as
/// done at once. Real syncs are left out, so it is quick. Lives longer than its files.
class FaultVfs {
public:
    FaultVfs();
    ~FaultVfs();
    FaultVfs(const FaultVfs&) = delete;
    FaultVfs& operator=(const FaultVfs&) = delete;

    const std::string& name() const { return name_; }

    /// Called within each write and sync, before it is done, with its number from 1 on.
    void on_operation(std::function<void(std::size_t number)> hook);

    /// Writes to a folder what the disk would hold after a power cut at this moment. From the hook
    /// or, while nothing is written, from elsewhere.
    void cut_power(const std::filesystem::path& to, std::mt19937_64& random) const;

    /// What the next writes or syncs answer: SQLITE_OK, or an error such as SQLITE_FULL.
    void answer_writes(int code);
    void answer_syncs(int code);
    /// Says that it syncs and does not: a disk that lies.
    void lie_about_syncs();

    struct Write {
        std::size_t offset;
        std::string bytes;
        bool is_truncation = false;
    };
    struct File {
        std::string synced;
        std::vector<Write> since = {};
    };

    // --- called by SQLite

    int open(const char* path, sqlite3_file* file, int flags, int* out_flags);
    int remove(const char* path, int sync_folder);
    int write(const std::string& path, sqlite3_file* real, const void* bytes, int count,
              sqlite3_int64 offset);
    int truncate(const std::string& path, sqlite3_file* real, sqlite3_int64 size);
    int sync(const std::string& path);

private:
    sqlite3_vfs vfs_{};
    sqlite3_vfs* real_;
    std::string name_;
    mutable std::recursive_mutex mutex_;
    std::map<std::string, File> files_;
    std::function<void(std::size_t)> hook_;
    std::size_t operations_ = 0;
    int write_answer_ = SQLITE_OK;
    int sync_answer_ = SQLITE_OK;
    bool lies_ = false;
};

}  // namespace waybourne::journal::test
