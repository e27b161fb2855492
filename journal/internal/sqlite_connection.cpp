#include "journal/internal/sqlite_connection.hpp"

#include "journal/journal.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::journal::internal {

SqliteQuery::~SqliteQuery() {
    sqlite3_reset(statement_);
    sqlite3_clear_bindings(statement_);
}

SqliteQuery& SqliteQuery::bind(int place, std::int64_t number) {
    sqlite3_bind_int64(statement_, place, number);
    return *this;
}

SqliteQuery& SqliteQuery::bind(int place, std::string_view text) {
    sqlite3_bind_text64(statement_, place, text.data(), text.size(), SQLITE_STATIC, SQLITE_UTF8);
    return *this;
}

SqliteQuery& SqliteQuery::bind_blob(int place, std::string_view bytes) {
    sqlite3_bind_blob64(statement_, place, bytes.data(), bytes.size(), SQLITE_STATIC);
    return *this;
}

SqliteQuery& SqliteQuery::bind_null(int place) {
    sqlite3_bind_null(statement_, place);
    return *this;
}

SqliteQuery& SqliteQuery::bind(int place, const Digest& digest) {
    return bind_blob(place,
                     {reinterpret_cast<const char*>(digest.bytes.data()), digest.bytes.size()});
}

bool SqliteQuery::next() {
    const int code = sqlite3_step(statement_);
    if (code != SQLITE_ROW && code != SQLITE_DONE) {
        connection_->fail(code);
    }
    return code == SQLITE_ROW;
}

void SqliteQuery::run() {
    while (next()) {
    }
}

bool SqliteQuery::is_null(int column) const {
    return sqlite3_column_type(statement_, column) == SQLITE_NULL;
}

std::int64_t SqliteQuery::number(int column) const {
    return sqlite3_column_int64(statement_, column);
}

std::string SqliteQuery::text(int column) const {
    const unsigned char* text = sqlite3_column_text(statement_, column);
    const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement_, column));
    return text == nullptr ? "" : std::string(reinterpret_cast<const char*>(text), size);
}

std::string SqliteQuery::blob(int column) const {
    const void* bytes = sqlite3_column_blob(statement_, column);
    const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement_, column));
    return bytes == nullptr ? "" : std::string(static_cast<const char*>(bytes), size);
}

SqliteConnection::SqliteConnection(const SqliteAddress& address, int flags) : path_(address.path) {
    sqlite3* database = nullptr;
    const int code = sqlite3_open_v2(address.path.c_str(), &database, flags | SQLITE_OPEN_NOMUTEX,
                                     address.vfs.empty() ? nullptr : address.vfs.c_str());
    database_.reset(database);
    if (code != SQLITE_OK) {
        fail(code);
    }
    sqlite3_extended_result_codes(database, 1);
    sqlite3_busy_timeout(database, static_cast<int>(address.patience.count()));
}

SqliteQuery SqliteConnection::query(const char* sql) {
    auto found = statements_.find(std::string_view{sql});
    if (found == statements_.end()) {
        sqlite3_stmt* statement = nullptr;
        const int code =
            sqlite3_prepare_v3(raw(), sql, -1, SQLITE_PREPARE_PERSISTENT, &statement, nullptr);
        if (code != SQLITE_OK) {
            fail(code);
        }
        found = statements_.emplace(sql, statement).first;
    }
    return SqliteQuery{*this, found->second.get()};
}

void SqliteConnection::run(const std::string& sql) {
    const int code = sqlite3_exec(raw(), sql.c_str(), nullptr, nullptr, nullptr);
    if (code != SQLITE_OK) {
        fail(code);
    }
}

std::int64_t SqliteConnection::first(SqliteQuery&& query) {
    return query.next() ? query.number(0) : 0;
}

void SqliteConnection::fail(int code) const {
    const std::string what =
        "journal " + path_ + ": " + (database_ ? sqlite3_errmsg(raw()) : sqlite3_errstr(code));
    constexpr int primary = 0xff;
    switch (code & primary) {
        case SQLITE_FULL:
            throw StorageFull(what);
        case SQLITE_READONLY:
        case SQLITE_PERM:
            throw StorageReadOnly(what);
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            throw StorageBusy(what);
        case SQLITE_CORRUPT:
        case SQLITE_NOTADB:
        case SQLITE_FORMAT:
            throw DataError(what);
        case SQLITE_IOERR:
            throw StorageFailed(what);
        case SQLITE_CANTOPEN:
            throw NotFound(what);
        default:
            throw std::runtime_error(what);
    }
}

SqliteTransaction::SqliteTransaction(SqliteConnection& connection, Kind kind)
    : connection_(connection) {
    connection_.query(kind == Kind::writing ? "BEGIN IMMEDIATE" : "BEGIN").run();
}

SqliteTransaction::~SqliteTransaction() {
    if (connection_.is_in_transaction()) {
        sqlite3_exec(connection_.raw(), "ROLLBACK", nullptr, nullptr, nullptr);
    }
}

void SqliteTransaction::commit() {
    connection_.query("COMMIT").run();
}

}  // namespace waybourne::journal::internal
