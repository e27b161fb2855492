#include "journal/internal/sqlite_schema.hpp"

#include <array>

#include "vocabulary/error.hpp"

namespace waybourne::journal::internal {

namespace {

constexpr std::int64_t application_id = 0x57424a4c;  // "WBJL": marks the file as a journal

/// Step n leads from version n to n + 1. A step that has been released is never changed.
constexpr std::array<const char*, schema_version> steps{
    R"(CREATE TABLE envelope(
           sequence INTEGER PRIMARY KEY,
           at INTEGER NOT NULL,
           who TEXT NOT NULL,
           kind TEXT NOT NULL,
           subject TEXT NOT NULL,
           idempotency_key TEXT,
           part INTEGER NOT NULL,
           parts INTEGER NOT NULL,
           salt BLOB,
           body TEXT,
           content_hash BLOB NOT NULL,
           hash BLOB NOT NULL
       ) STRICT;
       CREATE INDEX envelope_subject ON envelope(subject, sequence);
       CREATE UNIQUE INDEX envelope_key ON envelope(who, idempotency_key, part)
           WHERE idempotency_key IS NOT NULL;
       PRAGMA application_id = 1463962188;)",
    R"(CREATE TABLE fold_snapshot(
           name TEXT NOT NULL,
           version INTEGER NOT NULL,
           sequence INTEGER NOT NULL,
           hash BLOB NOT NULL,
           state BLOB NOT NULL,
           PRIMARY KEY(name, version)
       ) STRICT;)",
};

void refuse_foreign(SqliteConnection& connection, std::int64_t version) {
    if (connection.number("PRAGMA application_id") != application_id) {
        throw DataError(std::string("journal ") + sqlite3_db_filename(connection.raw(), "main") +
                        ": this database is not a journal");
    }
    if (version > schema_version) {
        throw DataError(std::string("journal ") + sqlite3_db_filename(connection.raw(), "main") +
                        ": written by a newer " + "program (schema " + std::to_string(version) +
                        ", this program knows " + std::to_string(schema_version) +
                        "): install that program again");
    }
}

}  // namespace

void prepare_schema(SqliteConnection& connection) {
    static_assert(application_id == 1463962188);
    SqliteTransaction transaction{connection, SqliteTransaction::Kind::writing};
    const std::int64_t version = connection.number("PRAGMA user_version");
    const bool is_new =
        version == 0 && connection.number("SELECT count(*) FROM sqlite_schema") == 0;
    if (!is_new) {
        refuse_foreign(connection, version);
    }
    if (version == schema_version) {
        return;
    }
    for (auto step = static_cast<std::size_t>(version); step < steps.size(); ++step) {
        connection.run(steps[step]);
    }
    connection.run("PRAGMA user_version = " + std::to_string(schema_version));
    transaction.commit();
}

void check_schema(SqliteConnection& connection) {
    const std::int64_t version = connection.number("PRAGMA user_version");
    refuse_foreign(connection, version);
    if (version < schema_version) {
        throw DataError(std::string("journal ") + sqlite3_db_filename(connection.raw(), "main") +
                        ": written by an older program; start the server once to migrate it");
    }
}

}  // namespace waybourne::journal::internal
