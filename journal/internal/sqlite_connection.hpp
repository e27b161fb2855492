#pragma once
/// SQLite with our errors and without leaks.

#include <sqlite3.h>

#include <chrono>
#include <map>
#include <memory>
#include <string>
#include <string_view>

#include "journal/digest.hpp"

namespace waybourne::journal::internal {

class SqliteConnection;

/// One run of a prepared statement; reset when it goes.
class SqliteQuery {
public:
    SqliteQuery(SqliteConnection& connection, sqlite3_stmt* statement)
        : connection_(&connection), statement_(statement) {}
    ~SqliteQuery();
    SqliteQuery(const SqliteQuery&) = delete;
    SqliteQuery& operator=(const SqliteQuery&) = delete;

    /// Texts and blobs must live until the query goes.
    SqliteQuery& bind(int place, std::int64_t number);
    SqliteQuery& bind(int place, std::string_view text);
    SqliteQuery& bind_blob(int place, std::string_view bytes);
    SqliteQuery& bind_null(int place);
    SqliteQuery& bind(int place, const Digest& digest);

    /// @return whether there is a row
    bool next();
    void run();

    bool is_null(int column) const;
    std::int64_t number(int column) const;
    std::string text(int column) const;
    std::string blob(int column) const;

private:
    SqliteConnection* connection_;
    sqlite3_stmt* statement_;
};

struct SqliteAddress {
    std::string path;
    std::string vfs;  ///< empty: SQLite's own
    std::chrono::milliseconds patience{};
};

/// One connection, for one thread at a time.
class SqliteConnection {
public:
    /// @param flags of sqlite3_open_v2
    /// @throws NotFound when there is no file and none is to be made; as `fail`
    SqliteConnection(const SqliteAddress& address, int flags);

    /// Prepares once, by the text of the statement.
    SqliteQuery query(const char* sql);
    void run(const std::string& sql);
    std::int64_t number(const char* sql) { return first(query(sql)); }
    int changes() const { return sqlite3_changes(database_.get()); }
    bool is_in_transaction() const { return sqlite3_get_autocommit(database_.get()) == 0; }
    sqlite3* raw() const { return database_.get(); }

    /// Throws the error that fits SQLite's code, naming the file.
    [[noreturn]] void fail(int code) const;

private:
    static std::int64_t first(SqliteQuery&& query);

    struct Close {
        void operator()(sqlite3* database) const { sqlite3_close_v2(database); }
    };
    struct Finalize {
        void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
    };
    std::string path_;
    std::unique_ptr<sqlite3, Close> database_;
    std::map<std::string, std::unique_ptr<sqlite3_stmt, Finalize>, std::less<>> statements_;
};

/// Rolls back unless committed.
class SqliteTransaction {
public:
    enum class Kind { reading, writing };
    SqliteTransaction(SqliteConnection& connection, Kind kind);
    ~SqliteTransaction();
    SqliteTransaction(const SqliteTransaction&) = delete;
    SqliteTransaction& operator=(const SqliteTransaction&) = delete;
    void commit();

private:
    SqliteConnection& connection_;
};

}  // namespace waybourne::journal::internal
