#include "journal/internal/postgres_schema.hpp"

#include <array>

#include "vocabulary/error.hpp"

namespace waybourne::journal::internal {

namespace {

/// Step n leads from version n to n + 1. A step that has been released is never changed. Texts are
/// compared byte by byte (`C`), as in SQLite.
constexpr std::array steps{
    R"(CREATE TABLE envelope(
           sequence bigint PRIMARY KEY,
           at bigint NOT NULL,
           who text COLLATE "C" NOT NULL,
           kind text COLLATE "C" NOT NULL,
           subject text COLLATE "C" NOT NULL,
           idempotency_key text COLLATE "C",
           part integer NOT NULL,
           parts integer NOT NULL,
           salt bytea,
           body text,
           content_hash bytea NOT NULL,
           hash bytea NOT NULL
       );
       CREATE INDEX envelope_subject ON envelope(subject, sequence);
       CREATE UNIQUE INDEX envelope_key ON envelope(who, idempotency_key, part)
           WHERE idempotency_key IS NOT NULL;
       CREATE TABLE journal_head(
           only_one boolean PRIMARY KEY DEFAULT true CHECK (only_one),
           sequence bigint NOT NULL,
           hash bytea NOT NULL
       );
       INSERT INTO journal_head(sequence, hash)
           VALUES (0, decode(repeat('00', 32), 'hex'));)",
    R"(CREATE TABLE fold_snapshot(
           name text COLLATE "C" NOT NULL,
           version integer NOT NULL,
           sequence bigint NOT NULL,
           hash bytea NOT NULL,
           state bytea NOT NULL,
           PRIMARY KEY(name, version)
       );)",
};
constexpr int schema_version = static_cast<int>(steps.size());

int stored_version(pqxx::work& work) {
    if (work.exec1("SELECT to_regclass('journal_schema')")[0].is_null()) {
        return 0;
    }
    return work.exec1("SELECT version FROM journal_schema")[0].as<int>();
}

}  // namespace

void prepare_schema(pqxx::connection& connection, const PostgresAddress& address) {
    with_our_errors(address, [&] {
        pqxx::work work{connection};
        if (!address.read_only) {
            work.exec("SELECT pg_advisory_xact_lock(1463962188)");  // "WBJL"
        }
        const int version = stored_version(work);
        if (version > schema_version) {
            throw DataError("journal " + address.shown + ": written by a newer program (schema " +
                            std::to_string(version) + ", this program knows " +
                            std::to_string(schema_version) + "): install that program again");
        }
        if (address.read_only) {
            if (version == 0) {
                throw NotFound("journal " + address.shown + ": there is none");
            }
            if (version < schema_version) {
                throw DataError("journal " + address.shown +
                                ": written by an older program; start the server once to migrate "
                                "it");
            }
            return;
        }
        if (version == 0) {
            work.exec("CREATE TABLE journal_schema(version integer NOT NULL)");
            work.exec("INSERT INTO journal_schema VALUES (0)");
        }
        for (auto step = static_cast<std::size_t>(version); step < steps.size(); ++step) {
            work.exec(steps[step]);
        }
        work.exec("UPDATE journal_schema SET version = " + std::to_string(schema_version));
        work.commit();
    });
}

}  // namespace waybourne::journal::internal
