#pragma once
/// The journal in PostgreSQL, for several servers that share one district or country.
///
/// Writers take turns by the lock on one row that holds the head of the chain, so sequences have no
/// gaps and become visible in their order; each turn stores all that has gathered on a server
/// meanwhile. NOTIFY wakes the followers on other servers; who was cut off reads what it missed.

#include <chrono>
#include <memory>
#include <string>

#include "journal/journal.hpp"

namespace waybourne::journal {

struct PostgresOptions {
    /// Nothing is made, migrated or written; the chain is not checked, that is left to `verify`.
    bool read_only = false;
    /// How long a lost connection is tried again, and how long a turn is waited for.
    std::chrono::milliseconds patience{5000};
};

/// Opens the journal in the schema that the address leads to (`search_path`), makes it when it is
/// not there, migrates an older one, and checks the end of its chain.
/// @param url `postgresql://user@host:port/database?…`, as libpq takes it; a password is better
/// kept
///        in a file (`passfile`, `~/.pgpass`). Over a network add `sslmode=verify-full`.
/// @throws Unavailable when the server cannot be reached; DataError when the database is not in
///         UTF-8, the journal is a newer program's or damaged; NotFound when it is not there and
///         must not be made
std::unique_ptr<Journal> open_postgres_journal(const std::string& url,
                                               const PostgresOptions& options = {});

}  // namespace waybourne::journal
