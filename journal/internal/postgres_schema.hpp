#pragma once
/// The tables of the journal in PostgreSQL, and how older ones become these.

#include "journal/internal/postgres_connection.hpp"

namespace waybourne::journal::internal {

/// Makes or migrates the tables; servers that start at the same time wait for each other. With a
/// read-only address it only checks.
/// @throws DataError when the journal is a newer program's; NotFound when there is none and none
///         may be made
void prepare_schema(pqxx::connection& connection, const PostgresAddress& address);

}  // namespace waybourne::journal::internal
