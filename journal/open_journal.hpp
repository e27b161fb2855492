#pragma once
/// Which store an address means.

#include <memory>
#include <string>

#include "journal/journal.hpp"

namespace waybourne::journal {

enum class Access {
    write,  ///< makes the journal when there is none, migrates an older one
    read,   ///< changes nothing; the chain is not checked, that is left to `verify`
};

/// `postgresql://…` (or `postgres://…`) means PostgreSQL, anything else the path of an SQLite file.
bool is_postgres(const std::string& address);

/// @throws as `open_sqlite_journal` or `open_postgres_journal`
std::unique_ptr<Journal> open_journal(const std::string& address, Access access = Access::write);

/// The address without a password, for logs and errors.
std::string without_password(const std::string& address);

}  // namespace waybourne::journal
