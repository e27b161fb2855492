#pragma once
/// PostgreSQL with our errors.

#include <chrono>
#include <memory>
#include <pqxx/pqxx>
#include <string>
#include <vector>

#include "journal/internal/append_plan.hpp"
#include "journal/journal.hpp"

namespace waybourne::journal::internal {

/// The connection is gone; what was asked for did not happen.
class ConnectionLost : public StorageFailed {
public:
    using StorageFailed::StorageFailed;
};

/// The connection went while a commit was under way.
class CommitInDoubt : public StorageFailed {
public:
    using StorageFailed::StorageFailed;
};

struct PostgresAddress {
    std::string url;
    std::string shown;  ///< the same without a password
    bool read_only = false;
    std::chrono::milliseconds patience{};
};

/// One connection, for one thread at a time. What the server remarks goes nowhere: a room does not
/// log, and errors are thrown.
class PostgresConnection final : public pqxx::connection {
public:
    explicit PostgresConnection(const std::string& url) : pqxx::connection(url) {}

private:
    pqxx::quiet_errorhandler quiet_{*this};
};

/// @throws ConnectionLost; DataError when the database is not in UTF-8
std::unique_ptr<PostgresConnection> connect(const PostgresAddress& address);

/// Runs `work` and throws what went wrong as one of our errors.
/// @throws ConnectionLost; StorageFull; StorageReadOnly; StorageBusy; DataError
template <typename Work>
auto with_our_errors(const PostgresAddress& address, const Work& work);

/// Throws the present exception, when it is one of libpqxx, as one of our errors.
[[noreturn]] void rethrow(const PostgresAddress& address);

template <typename Work>
auto with_our_errors(const PostgresAddress& address, const Work& work) {
    try {
        return work();
    } catch (const std::exception&) {
        rethrow(address);
    }
}

/// `{"a","b"}`: a list as PostgreSQL reads it. Built item by item.
class ArrayText {
public:
    void add(std::string_view item);
    void add(std::int64_t number) { add_raw(std::to_string(number)); }
    void add_null() { add_raw("NULL"); }
    std::string text() const { return items_ + "}"; }

private:
    void add_raw(std::string_view item);
    std::string items_ = "{";
};

/// The columns that `envelope_of` reads, in its order.
extern const char* const envelope_columns;
Envelope envelope_of(const pqxx::row& row);
std::vector<Envelope> envelopes_of(const pqxx::result& rows);

/// Adds envelopes that follow the head, moves the head, and tells the followers: one statement.
void insert(pqxx::work& work, const std::vector<Envelope>& envelopes);

/// The head, locked until the transaction ends: the turn to write.
Head lock_head(pqxx::work& work);

Head head_of(pqxx::transaction_base& work);
Sequence version_of(pqxx::transaction_base& work, const std::string& subject);

/// What a batch needs to know, fetched in two questions.
class StoredInPostgres final : public Stored {
public:
    StoredInPostgres(pqxx::work& work, std::span<Request* const> requests);
    Sequence version(const std::string& subject) override;
    std::vector<Envelope> under_key(const std::string& who, const std::string& key) override;

private:
    std::map<std::string, Sequence> versions_;
    std::map<std::pair<std::string, std::string>, std::vector<Envelope>> keys_;
};

}  // namespace waybourne::journal::internal
