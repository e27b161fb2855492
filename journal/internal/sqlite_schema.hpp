#pragma once
/// The tables of the journal in SQLite, and how older ones become these.

#include "journal/internal/sqlite_connection.hpp"

namespace waybourne::journal::internal {

/// `user_version` of a journal that this program writes.
inline constexpr int schema_version = 2;

/// Makes or migrates the tables, in one transaction.
/// @throws DataError when the file is not a journal, or a newer program's
void prepare_schema(SqliteConnection& connection);

/// @throws DataError as above, or when it is older than this program reads without migrating
void check_schema(SqliteConnection& connection);

}  // namespace waybourne::journal::internal
