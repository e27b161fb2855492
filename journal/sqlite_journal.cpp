#include "journal/sqlite_journal.hpp"

#include <algorithm>
#include <atomic>
#include <set>

#include "journal/internal/shared_journal.hpp"
#include "journal/internal/sqlite_connection.hpp"
#include "journal/internal/sqlite_schema.hpp"
#include "journal/private_file.hpp"

namespace waybourne::journal {

namespace {

using internal::Request;
using internal::SqliteAddress;
using internal::SqliteConnection;
using internal::SqliteQuery;
using internal::SqliteTransaction;

// News of other processes; of our own they come at once.
constexpr std::chrono::milliseconds poll_every{200};
// So many envelopes at the end of the chain are checked when a journal is opened.
constexpr Sequence checked_at_opening = 1000;

#define WAYBOURNE_ENVELOPE_COLUMNS                                                 \
    "sequence, at, who, kind, subject, idempotency_key, part, parts, salt, body, " \
    "content_hash, hash"

Digest digest_at(const SqliteQuery& query, int column, Sequence sequence) {
    const std::string bytes = query.blob(column);
    Digest digest;
    if (bytes.size() != digest.bytes.size()) {
        throw DataError("envelope " + std::to_string(sequence) + ": a hash has " +
                        std::to_string(bytes.size()) + " bytes instead of 32");
    }
    std::copy(bytes.begin(), bytes.end(), digest.bytes.begin());
    return digest;
}

/// From a row of WAYBOURNE_ENVELOPE_COLUMNS.
Envelope envelope_at(const SqliteQuery& query) {
    int column = 0;
    Envelope envelope;
    envelope.sequence = query.number(column++);
    envelope.at = Instant{Seconds{query.number(column++)}};
    envelope.who = query.text(column++);
    envelope.kind = query.text(column++);
    envelope.subject = query.text(column++);
    envelope.idempotency_key = query.text(column++);
    envelope.part = static_cast<int>(query.number(column++));
    envelope.parts = static_cast<int>(query.number(column++));
    if (!query.is_null(column)) {
        envelope.salt = query.blob(column);
    }
    ++column;
    if (!query.is_null(column)) {
        envelope.body = query.text(column);
    }
    ++column;
    envelope.content_hash = digest_at(query, column++, envelope.sequence);
    envelope.hash = digest_at(query, column, envelope.sequence);
    return envelope;
}

std::vector<Envelope> all_of(SqliteQuery& query) {
    std::vector<Envelope> envelopes;
    while (query.next()) {
        envelopes.push_back(envelope_at(query));
    }
    return envelopes;
}

Head head_of(SqliteConnection& connection) {
    auto query =
        connection.query("SELECT sequence, hash FROM envelope ORDER BY sequence DESC LIMIT 1");
    if (!query.next()) {
        return {};
    }
    const Sequence sequence = query.number(0);
    return {sequence, digest_at(query, 1, sequence)};
}

Sequence version_of(SqliteConnection& connection, const std::string& subject) {
    auto query = connection.query("SELECT max(sequence) FROM envelope WHERE subject = ?");
    query.bind(1, subject);
    return query.next() ? query.number(0) : 0;
}

void insert(SqliteConnection& connection, const Envelope& envelope) {
    auto query = connection.query("INSERT INTO envelope(" WAYBOURNE_ENVELOPE_COLUMNS
                                  ") VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    query.bind(1, envelope.sequence).bind(2, envelope.at.time_since_epoch().count());
    query.bind(3, envelope.who).bind(4, envelope.kind).bind(5, envelope.subject);
    if (!envelope.idempotency_key.empty()) {
        query.bind(6, envelope.idempotency_key);
    }
    query.bind(7, std::int64_t{envelope.part}).bind(8, std::int64_t{envelope.parts});
    if (envelope.body) {
        query.bind_blob(9, *envelope.salt).bind(10, *envelope.body);
    }
    query.bind(11, envelope.content_hash).bind(12, envelope.hash);
    query.run();
}

class StoredInSqlite final : public internal::Stored {
public:
    explicit StoredInSqlite(SqliteConnection& connection) : connection_(connection) {}
    Sequence version(const std::string& subject) override {
        return version_of(connection_, subject);
    }
    std::vector<Envelope> under_key(const std::string& who, const std::string& key) override {
        auto query = connection_.query("SELECT " WAYBOURNE_ENVELOPE_COLUMNS
                                       " FROM envelope WHERE who = ? AND idempotency_key = ? "
                                       "ORDER BY part");
        query.bind(1, who).bind(2, key);
        return all_of(query);
    }

private:
    SqliteConnection& connection_;
};

class SqliteJournal final : public internal::SharedJournal {
public:
    SqliteJournal(SqliteAddress address, bool read_only)
        : SharedJournal(poll_every), address_(std::move(address)) {
        if (!read_only) {
            writer_ = open_writer();
        }
        const Reader reader{*this};
        internal::check_schema(*reader);
        if (!read_only) {
            check_end(*reader);
        }
    }

    std::vector<Envelope> read(Sequence after, std::size_t limit) const override {
        const Reader reader{*this};
        auto query = reader->query("SELECT " WAYBOURNE_ENVELOPE_COLUMNS
                                   " FROM envelope WHERE sequence > ? ORDER BY sequence LIMIT ?");
        query.bind(1, after).bind(2, static_cast<std::int64_t>(limit));
        return all_of(query);
    }

    std::vector<Envelope> read_subject(const std::string& subject, Sequence after,
                                       std::size_t limit) const override {
        const Reader reader{*this};
        auto query = reader->query("SELECT " WAYBOURNE_ENVELOPE_COLUMNS
                                   " FROM envelope WHERE subject = ? AND sequence > ? "
                                   "ORDER BY sequence LIMIT ?");
        query.bind(1, subject).bind(2, after).bind(3, static_cast<std::int64_t>(limit));
        return all_of(query);
    }

    std::vector<Envelope> read_key(const std::string& who,
                                   const std::string& idempotency_key) const override {
        const Reader reader{*this};
        return StoredInSqlite{*reader}.under_key(who, idempotency_key);
    }

    Sequence version(const std::string& subject) const override {
        const Reader reader{*this};
        return version_of(*reader, subject);
    }

    Head head() const override {
        const Reader reader{*this};
        return head_of(*reader);
    }

    bool save_snapshot(const FoldSnapshot& snapshot) override;
    std::optional<FoldSnapshot> load_snapshot(const std::string& name, int version) const override;
    Head restore(const std::function<std::optional<Envelope>()>& next) override;
    std::string store_damage() const override;

protected:
    void commit(std::span<Request* const> requests) override;
    Redacted erase(const Redaction& redaction, std::span<const Sequence> sequences) override;
    void each_candidate(const Redaction& redaction,
                        const std::function<void(const Candidate&)>& visit) const override;
    bool remove_remains() override;

private:
    /// A connection from the pool, for as long as this lives.
    class Reader {
    public:
        explicit Reader(const SqliteJournal& journal)
            : journal_(journal), connection_(journal.take_reader()) {}
        ~Reader() { journal_.give_back(std::move(connection_)); }
        Reader(const Reader&) = delete;
        Reader& operator=(const Reader&) = delete;
        SqliteConnection& operator*() const { return *connection_; }
        SqliteConnection* operator->() const { return connection_.get(); }

    private:
        const SqliteJournal& journal_;
        std::unique_ptr<SqliteConnection> connection_;
    };

    std::unique_ptr<SqliteConnection> open_writer() const;
    std::unique_ptr<SqliteConnection> take_reader() const;
    void give_back(std::unique_ptr<SqliteConnection> reader) const;
    void check_end(SqliteConnection& connection) const;
    SqliteConnection& writer();
    /// Runs one transaction; a disk that fails closes the journal for writing.
    template <typename Work>
    auto write(const Work& work);

    SqliteAddress address_;
    std::unique_ptr<SqliteConnection> writer_;  // none: read only
    bool has_failed_ = false;                   // guarded like the writer
    mutable std::mutex pool_;
    mutable std::vector<std::unique_ptr<SqliteConnection>> readers_;
};

std::unique_ptr<SqliteConnection> SqliteJournal::open_writer() const {
    make_private(address_.path);
    auto connection =
        std::make_unique<SqliteConnection>(address_, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE);
    if (sqlite3_db_readonly(connection->raw(), "main") == 1) {
        throw StorageReadOnly("journal " + address_.path + ": the file cannot be written");
    }
    connection->run("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;");
    connection->run("PRAGMA journal_mode = WAL");
    connection->run("PRAGMA synchronous = FULL; PRAGMA secure_delete = ON;");
    internal::prepare_schema(*connection);
    // What a failed sync may have left in the memory of the operating system alone is written anew.
    sqlite3_wal_checkpoint_v2(connection->raw(), nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr,
                              nullptr);
    return connection;
}

std::unique_ptr<SqliteConnection> SqliteJournal::take_reader() const {
    {
        const std::lock_guard lock{pool_};
        if (!readers_.empty()) {
            auto reader = std::move(readers_.back());
            readers_.pop_back();
            return reader;
        }
    }
    auto reader = std::make_unique<SqliteConnection>(address_, SQLITE_OPEN_READONLY);
    reader->run("PRAGMA trusted_schema = OFF");
    return reader;
}

void SqliteJournal::give_back(std::unique_ptr<SqliteConnection> reader) const {
    constexpr std::size_t most = 8;
    const std::lock_guard lock{pool_};
    if (readers_.size() < most) {
        readers_.push_back(std::move(reader));
    }
}

void SqliteJournal::check_end(SqliteConnection& connection) const {
    const SqliteTransaction one_moment{connection, SqliteTransaction::Kind::reading};
    const Sequence last = head_of(connection).sequence;
    auto query = connection.query("SELECT " WAYBOURNE_ENVELOPE_COLUMNS
                                  " FROM envelope WHERE sequence >= ? ORDER BY sequence");
    query.bind(1, last - checked_at_opening);
    std::optional<Head> before;
    while (query.next()) {
        const Envelope envelope = envelope_at(query);
        if (before && (envelope.sequence != before->sequence + 1 ||
                       chain_hash(before->hash, envelope) != envelope.hash)) {
            throw DataError("journal " + address_.path + ": envelope " +
                            std::to_string(envelope.sequence) +
                            " does not follow from the one before");
        }
        before = Head{envelope.sequence, envelope.hash};
    }
}

SqliteConnection& SqliteJournal::writer() {
    if (!writer_) {
        throw StorageReadOnly("journal " + address_.path + ": opened for reading only");
    }
    if (has_failed_) {
        throw StorageFailed("journal " + address_.path +
                            ": the disk failed; check it and start again");
    }
    return *writer_;
}

template <typename Work>
auto SqliteJournal::write(const Work& work) {
    SqliteConnection& connection = writer();
    try {
        SqliteTransaction transaction{connection, SqliteTransaction::Kind::writing};
        return work(connection, transaction);
    } catch (const StorageFailed&) {
        has_failed_ = true;
        throw;
    }
}

void SqliteJournal::commit(std::span<Request* const> requests) {
    write([&](SqliteConnection& connection, SqliteTransaction& transaction) {
        StoredInSqlite stored{connection};
        const auto envelopes = plan_appends(head_of(connection), requests, stored);
        for (const Envelope& envelope : envelopes) {
            insert(connection, envelope);
        }
        if (!envelopes.empty()) {
            transaction.commit();
        }
    });
}

Redacted SqliteJournal::erase(const Redaction& redaction, std::span<const Sequence> sequences) {
    return write([&](SqliteConnection& connection, SqliteTransaction& transaction) {
        std::vector<Sequence> erased;
        for (const Sequence sequence : sequences) {
            connection
                .query(
                    "UPDATE envelope SET salt = NULL, body = NULL "
                    "WHERE sequence = ? AND body IS NOT NULL")
                .bind(1, sequence)
                .run();
            if (connection.changes() > 0) {
                erased.push_back(sequence);
            }
        }
        if (erased.empty()) {
            return Redacted{};
        }
        connection.query("DELETE FROM fold_snapshot").run();
        const Envelope record =
            internal::seal(head_of(connection), internal::redaction_record(redaction, erased));
        insert(connection, record);
        transaction.commit();
        return Redacted{static_cast<Sequence>(erased.size()), record.sequence};
    });
}

void SqliteJournal::each_candidate(const Redaction& redaction,
                                   const std::function<void(const Candidate&)>& visit) const {
    const Reader reader{*this};
    const auto visit_all = [&](SqliteQuery& query) {
        while (query.next()) {
            visit(
                {query.number(0), Instant{Seconds{query.number(1)}}, query.text(2), query.text(3)});
        }
    };
    if (redaction.subjects.empty()) {
        auto query = reader->query(
            "SELECT sequence, at, kind, subject FROM envelope WHERE body IS NOT NULL");
        visit_all(query);
    }
    for (const std::string& subject :
         std::set<std::string>{redaction.subjects.begin(), redaction.subjects.end()}) {
        auto query = reader->query(
            "SELECT sequence, at, kind, subject FROM envelope "
            "WHERE subject = ? AND body IS NOT NULL");
        query.bind(1, subject);
        visit_all(query);
    }
}

bool SqliteJournal::remove_remains() {
    const auto alone = group().exclusive();
    // The bodies' cells are overwritten already (secure_delete); their old pages are in the WAL.
    return sqlite3_wal_checkpoint_v2(writer().raw(), nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr,
                                     nullptr) == SQLITE_OK;
}

bool SqliteJournal::save_snapshot(const FoldSnapshot& snapshot) {
    const auto alone = group().exclusive();
    return write([&](SqliteConnection& connection, SqliteTransaction& transaction) {
        {
            auto query = connection.query("SELECT hash FROM envelope WHERE sequence = ?");
            query.bind(1, snapshot.head.sequence);
            if (!query.next() ||
                digest_at(query, 0, snapshot.head.sequence) != snapshot.head.hash ||
                version_of(connection, journal_subject) > snapshot.head.sequence) {
                return false;
            }
        }
        connection
            .query(
                "INSERT OR REPLACE INTO fold_snapshot(name, version, sequence, hash, state) "
                "VALUES(?, ?, ?, ?, ?)")
            .bind(1, snapshot.name)
            .bind(2, std::int64_t{snapshot.version})
            .bind(3, snapshot.head.sequence)
            .bind(4, snapshot.head.hash)
            .bind_blob(5, snapshot.state)
            .run();
        transaction.commit();
        return true;
    });
}

std::optional<FoldSnapshot> SqliteJournal::load_snapshot(const std::string& name,
                                                         int version) const {
    const Reader reader{*this};
    auto query = reader->query(
        "SELECT fold_snapshot.sequence, fold_snapshot.hash, state FROM fold_snapshot "
        "JOIN envelope ON envelope.sequence = fold_snapshot.sequence "
        "AND envelope.hash = fold_snapshot.hash WHERE name = ? AND version = ?");
    query.bind(1, name).bind(2, std::int64_t{version});
    if (!query.next()) {
        return std::nullopt;
    }
    const Sequence sequence = query.number(0);
    return FoldSnapshot{name, version, {sequence, digest_at(query, 1, sequence)}, query.blob(2)};
}

Head SqliteJournal::restore(const std::function<std::optional<Envelope>()>& next) {
    const auto alone = group().exclusive();
    const Head head = write([&](SqliteConnection& connection, SqliteTransaction& transaction) {
        if (head_of(connection).sequence != 0) {
            throw Conflict("journal " + address_.path + " is not empty");
        }
        while (const auto envelope = next()) {
            insert(connection, *envelope);
        }
        const Head last = head_of(connection);
        transaction.commit();
        return last;
    });
    announce(head.sequence);
    return head;
}

std::string SqliteJournal::store_damage() const {
    const Reader reader{*this};
    try {
        auto query = reader->query("PRAGMA integrity_check(1)");
        const std::string found = query.next() ? query.text(0) : "";
        return found == "ok" ? "" : found;
    } catch (const DataError& error) {
        return error.what();
    }
}

/// Finishes or gives up; the connections close themselves.
void copy_all(SqliteConnection& from, SqliteConnection& to) {
    sqlite3_backup* backup = sqlite3_backup_init(to.raw(), "main", from.raw(), "main");
    if (backup == nullptr) {
        to.fail(sqlite3_errcode(to.raw()));
    }
    // All pages in one step: a reader's view, so writers neither wait nor make it start again.
    const int code = sqlite3_backup_step(backup, -1);
    const int finish = sqlite3_backup_finish(backup);
    if (code != SQLITE_DONE) {
        to.fail(finish != SQLITE_OK ? finish : code);
    }
}

}  // namespace

std::unique_ptr<Journal> open_sqlite_journal(const std::filesystem::path& file,
                                             const SqliteOptions& options) {
    return std::make_unique<SqliteJournal>(
        SqliteAddress{file.string(), options.vfs, options.patience}, options.read_only);
}

void backup_sqlite_journal(const std::filesystem::path& from, const std::filesystem::path& to) {
    const std::chrono::milliseconds patience = SqliteOptions{}.patience;
    SqliteConnection source{{from.string(), "", patience}, SQLITE_OPEN_READONLY};
    internal::check_schema(source);
    PrivateFile file{to};
    {
        SqliteConnection target{{file.part().string(), "", patience}, SQLITE_OPEN_READWRITE};
        copy_all(source, target);
        // One file, readable from a medium that cannot be written.
        target.run("PRAGMA journal_mode = DELETE");
    }
    file.finish();
}

}  // namespace waybourne::journal
