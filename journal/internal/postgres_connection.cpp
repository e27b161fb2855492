#include "journal/internal/postgres_connection.hpp"

#include "vocabulary/error.hpp"

namespace waybourne::journal::internal {

namespace {

bool begins(const std::string& text, std::string_view with) {
    return text.rfind(with, 0) == 0;
}

constexpr const char* no_privilege = "42501";

/// By PostgreSQL's error codes (PostgreSQL 15 manual, appendix A).
[[noreturn]] void throw_by_code(const std::string& code, const std::string& what) {
    if (code == "53100") {
        throw StorageFull(what);
    }
    if (code == "25006" || code == no_privilege) {
        throw StorageReadOnly(what);
    }
    if (code == "55P03" || code == "57014") {
        throw StorageBusy(what);
    }
    if (begins(code, "57P") || begins(code, "08")) {
        throw ConnectionLost(what);
    }
    if (begins(code, "XX")) {
        throw DataError(what);
    }
    if (begins(code, "53") || begins(code, "58")) {
        throw StorageFailed(what);
    }
    throw std::runtime_error(what + " (" + code + ")");
}

std::string one_line(std::string text) {
    while (!text.empty() && text.back() == '\n') {
        text.pop_back();
    }
    std::replace(text.begin(), text.end(), '\n', ' ');
    return text;
}

}  // namespace

void rethrow(const PostgresAddress& address) {
    const auto told = [&](const std::exception& error) {
        return "journal " + address.shown + ": " + one_line(error.what());
    };
    try {
        throw;
    } catch (const pqxx::in_doubt_error& error) {
        throw CommitInDoubt(told(error));
    } catch (const pqxx::broken_connection& error) {
        throw ConnectionLost(told(error));
    } catch (const pqxx::statement_completion_unknown& error) {
        throw CommitInDoubt(told(error));
    } catch (const pqxx::transaction_rollback& error) {
        throw StorageBusy(told(error));  // 40…: another transaction stood in the way
    } catch (const pqxx::insufficient_privilege& error) {
        throw_by_code(no_privilege, told(error));  // libpqxx 6.4 says nothing of the code here
    } catch (const pqxx::syntax_error& error) {
        throw DataError(told(error));  // nor here: a table or a column of ours is not there
    } catch (const pqxx::sql_error& error) {
        // libpqxx says nothing of the code when the connection went during the question
        if (error.sqlstate().empty()) {
            throw ConnectionLost(told(error));
        }
        throw_by_code(error.sqlstate(), told(error));
    }
}

std::unique_ptr<PostgresConnection> connect(const PostgresAddress& address) {
    return with_our_errors(address, [&] {
        auto connection = std::make_unique<PostgresConnection>(address.url);
        connection->set_variable("client_encoding", "'UTF8'");
        connection->set_variable("synchronous_commit", "on");
        connection->set_variable("lock_timeout", std::to_string(address.patience.count()));
        connection->set_variable("default_transaction_read_only", address.read_only ? "on" : "off");
        pqxx::nontransaction work{*connection};
        if (work.exec1("SHOW server_encoding")[0].as<std::string>() != "UTF8") {
            throw DataError("journal " + address.shown + ": the database must be in UTF-8");
        }
        return connection;
    });
}

void ArrayText::add_raw(std::string_view item) {
    if (items_.size() > 1) {
        items_ += ',';
    }
    items_ += item;
}

void ArrayText::add(std::string_view item) {
    std::string quoted = "\"";
    for (const char c : item) {
        if (c == '"' || c == '\\') {
            quoted += '\\';
        }
        quoted += c;
    }
    add_raw(quoted + '"');
}

const char* const envelope_columns =
    "sequence, at, who, kind, subject, coalesce(idempotency_key, ''), part, parts, "
    "encode(salt, 'hex'), body, encode(content_hash, 'hex'), encode(hash, 'hex')";

Envelope envelope_of(const pqxx::row& row) {
    int column = 0;
    Envelope envelope;
    envelope.sequence = row[column++].as<Sequence>();
    envelope.at = Instant{Seconds{row[column++].as<std::int64_t>()}};
    envelope.who = row[column++].as<std::string>();
    envelope.kind = row[column++].as<std::string>();
    envelope.subject = row[column++].as<std::string>();
    envelope.idempotency_key = row[column++].as<std::string>();
    envelope.part = row[column++].as<int>();
    envelope.parts = row[column++].as<int>();
    if (const auto salt = row[column++]; !salt.is_null()) {
        envelope.salt = bytes_from_hex(salt.as<std::string>());
    }
    if (const auto body = row[column++]; !body.is_null()) {
        envelope.body = body.as<std::string>();
    }
    try {
        envelope.content_hash = digest_from_hex(row[column++].as<std::string>());
        envelope.hash = digest_from_hex(row[column].as<std::string>());
    } catch (const InputError& error) {
        throw DataError("envelope " + std::to_string(envelope.sequence) + ": " + error.what());
    }
    return envelope;
}

std::vector<Envelope> envelopes_of(const pqxx::result& rows) {
    std::vector<Envelope> envelopes;
    for (const pqxx::row& row : rows) {
        envelopes.push_back(envelope_of(row));
    }
    return envelopes;
}

void insert(pqxx::work& work, const std::vector<Envelope>& envelopes) {
    ArrayText sequences, times, whos, kinds, subjects, keys, parts, counts, salts, bodies, contents,
        hashes;
    for (const Envelope& envelope : envelopes) {
        sequences.add(envelope.sequence);
        times.add(envelope.at.time_since_epoch().count());
        whos.add(envelope.who);
        kinds.add(envelope.kind);
        subjects.add(envelope.subject);
        envelope.idempotency_key.empty() ? keys.add_null() : keys.add(envelope.idempotency_key);
        parts.add(std::int64_t{envelope.part});
        counts.add(std::int64_t{envelope.parts});
        envelope.salt ? salts.add(to_hex(*envelope.salt)) : salts.add_null();
        envelope.body ? bodies.add(*envelope.body) : bodies.add_null();
        contents.add(to_hex(envelope.content_hash));
        hashes.add(to_hex(envelope.hash));
    }
    const Envelope& last = envelopes.back();
    work.exec_params(
        "WITH added AS (INSERT INTO envelope(sequence, at, who, kind, subject, idempotency_key, "
        "part, parts, salt, body, content_hash, hash) "
        "SELECT s, a, w, k, u, i, p, c, decode(t, 'hex'), b, decode(d, 'hex'), decode(h, 'hex') "
        "FROM unnest($1::bigint[], $2::bigint[], $3::text[], $4::text[], $5::text[], $6::text[], "
        "$7::int[], $8::int[], $9::text[], $10::text[], $11::text[], $12::text[]) "
        "AS new(s, a, w, k, u, i, p, c, t, b, d, h)) "
        "UPDATE journal_head SET sequence = $13, hash = decode($14, 'hex') "
        "RETURNING pg_notify('waybourne_journal_' || 'journal_head'::regclass::oid, $15)",
        sequences.text(), times.text(), whos.text(), kinds.text(), subjects.text(), keys.text(),
        parts.text(), counts.text(), salts.text(), bodies.text(), contents.text(), hashes.text(),
        last.sequence, to_hex(last.hash), std::to_string(last.sequence));
}

namespace {

Head head_in(const pqxx::row& row) {
    return {row[0].as<Sequence>(), digest_from_hex(row[1].as<std::string>())};
}

}  // namespace

Head lock_head(pqxx::work& work) {
    return head_in(work.exec1("SELECT sequence, encode(hash, 'hex') FROM journal_head FOR UPDATE"));
}

Head head_of(pqxx::transaction_base& work) {
    return head_in(work.exec1("SELECT sequence, encode(hash, 'hex') FROM journal_head"));
}

Sequence version_of(pqxx::transaction_base& work, const std::string& subject) {
    return work
        .exec_params1("SELECT coalesce(max(sequence), 0) FROM envelope WHERE subject = $1", subject)
        .at(0)
        .as<Sequence>();
}

StoredInPostgres::StoredInPostgres(pqxx::work& work, std::span<Request* const> requests) {
    ArrayText whos, keys, subjects;
    bool has_keys = false;
    for (const Request* request : requests) {
        if (!request->append->idempotency_key.empty()) {
            whos.add(request->append->who);
            keys.add(request->append->idempotency_key);
            has_keys = true;
        }
        for (const Expectation& expectation : request->append->expectations) {
            if (versions_.emplace(expectation.subject, 0).second) {
                subjects.add(expectation.subject);
            }
        }
    }
    if (has_keys) {
        const pqxx::result rows =
            work.exec_params(std::string("SELECT ") + envelope_columns +
                                 " FROM envelope WHERE (who, idempotency_key) IN "
                                 "(SELECT * FROM unnest($1::text[], $2::text[])) ORDER BY sequence",
                             whos.text(), keys.text());
        for (Envelope& envelope : envelopes_of(rows)) {
            keys_[{envelope.who, envelope.idempotency_key}].push_back(std::move(envelope));
        }
    }
    if (!versions_.empty()) {
        for (const pqxx::row& row : work.exec_params(
                 "SELECT subject, max(sequence) FROM envelope WHERE subject = ANY($1::text[]) "
                 "GROUP BY subject",
                 subjects.text())) {
            versions_[row[0].as<std::string>()] = row[1].as<Sequence>();
        }
    }
}

Sequence StoredInPostgres::version(const std::string& subject) {
    return versions_.at(subject);
}

std::vector<Envelope> StoredInPostgres::under_key(const std::string& who, const std::string& key) {
    const auto found = keys_.find({who, key});
    return found == keys_.end() ? std::vector<Envelope>{} : found->second;
}

}  // namespace waybourne::journal::internal
