#pragma once
/// The journal in one file, by SQLite: what a district uses that has one server.
///
/// WAL with `synchronous = FULL`: an append returns after its bytes are synced. Erased bytes are
/// overwritten. Several processes may open one file on a local disk, also for writing: SQLite's
/// write lock puts their appends in one order. Not for network file systems (SQLite's WAL needs
/// memory that the processes share).

#include <chrono>
#include <filesystem>
#include <memory>
#include <string>

#include "journal/journal.hpp"

namespace waybourne::journal {

struct SqliteOptions {
    /// Nothing is made, migrated or written; the chain is not checked, that is left to `verify`.
    bool read_only = false;
    std::string vfs = {};                      ///< name of a registered SQLite VFS; tests use one
    std::chrono::milliseconds patience{5000};  ///< wait for another process's write
};

/// Opens the journal, makes it (mode 0600) when there is no file, migrates an older one, and checks
/// the end of its chain. An append that fails because the disk fails closes the journal for writing
/// until it is opened again: what the disk holds is unknown (as PostgreSQL does after a failed
/// fsync).
/// @throws DataError when the file is damaged, no journal, or a newer program's; NotFound when it
///         cannot be opened or made; StorageReadOnly; StorageBusy
std::unique_ptr<Journal> open_sqlite_journal(const std::filesystem::path& file,
                                             const SqliteOptions& options = {});

/// Copies a journal that may be in use to a new file, as of one moment. Others go on writing.
/// @throws Conflict when `to` exists; as `open_sqlite_journal`; StorageFull
void backup_sqlite_journal(const std::filesystem::path& from, const std::filesystem::path& to);

}  // namespace waybourne::journal
