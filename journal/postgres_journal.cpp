#include "journal/postgres_journal.hpp"

#include <algorithm>
#include <thread>
#include <type_traits>

#include "journal/internal/postgres_connection.hpp"
#include "journal/internal/postgres_listener.hpp"
#include "journal/internal/postgres_schema.hpp"
#include "journal/internal/shared_journal.hpp"
#include "journal/open_journal.hpp"

namespace waybourne::journal {

namespace {

using internal::ArrayText;
using internal::connect;
using internal::ConnectionLost;
using internal::envelope_columns;
using internal::PostgresAddress;
using internal::Request;
using internal::StoredInPostgres;

// NOTIFY tells at once; this is for what is lost while a connection is made again.
constexpr std::chrono::milliseconds poll_every{1000};
constexpr std::chrono::milliseconds pause_between_attempts{50};
constexpr Sequence checked_at_opening = 1000;

class PostgresJournal final : public internal::SharedJournal {
public:
    explicit PostgresJournal(PostgresAddress address)
        : SharedJournal(poll_every),
          address_(std::move(address)),
          listener_(address_, [this](Sequence last) { announce(last); }) {
        auto connection = connect(address_);
        prepare_schema(*connection, address_);
        give_back(std::move(connection));
        if (!address_.read_only) {
            check_end();
        }
    }

    std::vector<Envelope> read(Sequence after, std::size_t limit) const override {
        return reading([&](pqxx::transaction_base& work) {
            return internal::envelopes_of(work.exec_params(
                std::string("SELECT ") + envelope_columns +
                    " FROM envelope WHERE sequence > $1 ORDER BY sequence LIMIT $2",
                after, limit));
        });
    }

    std::vector<Envelope> read_subject(const std::string& subject, Sequence after,
                                       std::size_t limit) const override {
        return reading([&](pqxx::transaction_base& work) {
            return internal::envelopes_of(
                work.exec_params(std::string("SELECT ") + envelope_columns +
                                     " FROM envelope WHERE subject = $1 AND sequence > $2 "
                                     "ORDER BY sequence LIMIT $3",
                                 subject, after, limit));
        });
    }

    std::vector<Envelope> read_key(const std::string& who,
                                   const std::string& idempotency_key) const override {
        return reading([&](pqxx::transaction_base& work) {
            return internal::envelopes_of(work.exec_params(
                std::string("SELECT ") + envelope_columns +
                    " FROM envelope WHERE who = $1 AND idempotency_key = $2 ORDER BY part",
                who, idempotency_key));
        });
    }

    Sequence version(const std::string& subject) const override {
        return reading(
            [&](pqxx::transaction_base& work) { return internal::version_of(work, subject); });
    }

    Head head() const override {
        return reading([](pqxx::transaction_base& work) { return internal::head_of(work); });
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
    void prepare_to_wait() const override { listener_.start(); }

private:
    using Connection = std::unique_ptr<internal::PostgresConnection>;

    Connection take() const;
    void give_back(Connection connection) const;
    void check_end() const;

    /// Runs one question, a second time when the connection has gone since it was last used.
    template <typename Work>
    std::invoke_result_t<Work, pqxx::transaction_base&> reading(const Work& work) const;

    /// Runs one transaction that holds the head. Tries again while the connection is lost.
    /// @param work given the transaction and the head; returns the answer and the last envelope it
    ///        wrote (none: nothing to commit). Runs again from the start when it is tried again.
    template <typename Answer>
    using Written = std::pair<Answer, std::optional<Head>>;
    template <typename Answer>
    Answer writing(const std::function<Written<Answer>(pqxx::work&, const Head&)>& work);
    bool holds(const Head& written) const;

    PostgresAddress address_;
    mutable internal::PostgresListener listener_;
    mutable std::mutex pool_;
    mutable std::vector<Connection> connections_;
};

PostgresJournal::Connection PostgresJournal::take() const {
    {
        const std::lock_guard lock{pool_};
        if (!connections_.empty()) {
            Connection connection = std::move(connections_.back());
            connections_.pop_back();
            return connection;
        }
    }
    return connect(address_);
}

void PostgresJournal::give_back(Connection connection) const {
    constexpr std::size_t most = 8;
    const std::lock_guard lock{pool_};
    if (connections_.size() < most) {
        connections_.push_back(std::move(connection));
    }
}

template <typename Work>
std::invoke_result_t<Work, pqxx::transaction_base&> PostgresJournal::reading(
    const Work& work) const {
    const auto once = [&](Connection connection) {
        auto answer = internal::with_our_errors(address_, [&] {
            pqxx::nontransaction question{*connection};
            return work(question);
        });
        give_back(std::move(connection));
        return answer;
    };
    try {
        return once(take());
    } catch (const ConnectionLost&) {
        const std::lock_guard lock{pool_};
        connections_.clear();  // the others have gone, too
    }
    return once(connect(address_));
}

bool PostgresJournal::holds(const Head& written) const {
    const Connection connection = connect(address_);
    return internal::with_our_errors(address_, [&] {
        pqxx::work work{*connection};
        internal::lock_head(work);  // waits until the commit in doubt has ended
        return !work.exec_params(
                        "SELECT 1 FROM envelope WHERE sequence = $1 "
                        "AND hash = decode($2, 'hex')",
                        written.sequence, to_hex(written.hash))
                    .empty();
    });
}

template <typename Answer>
Answer PostgresJournal::writing(
    const std::function<Written<Answer>(pqxx::work&, const Head&)>& work) {
    if (address_.read_only) {
        throw StorageReadOnly("journal " + address_.shown + ": opened for reading only");
    }
    using Clock = std::chrono::steady_clock;
    const auto deadline = Clock::now() + address_.patience;
    std::optional<Written<Answer>> in_doubt;
    while (true) {
        try {
            if (in_doubt && holds(*in_doubt->second)) {
                return in_doubt->first;
            }
            in_doubt.reset();
            Connection connection = take();
            const auto done = internal::with_our_errors(address_, [&] {
                pqxx::work transaction{*connection};
                auto written = work(transaction, internal::lock_head(transaction));
                if (written.second) {
                    in_doubt = written;
                    transaction.commit();
                }
                return written;
            });
            give_back(std::move(connection));
            return done.first;
        } catch (const StorageFailed&) {
            const std::lock_guard lock{pool_};
            connections_.clear();
            if (Clock::now() >= deadline) {
                throw;
            }
        }
        std::this_thread::sleep_for(pause_between_attempts);
    }
}

void PostgresJournal::commit(std::span<Request* const> requests) {
    writing<bool>([&](pqxx::work& work, const Head& head) -> Written<bool> {
        for (Request* request : requests) {
            request->error = nullptr;  // of an attempt before
        }
        StoredInPostgres stored{work, requests};
        const auto envelopes = plan_appends(head, requests, stored);
        if (envelopes.empty()) {
            return {true, std::nullopt};
        }
        internal::insert(work, envelopes);
        return {true, Head{envelopes.back().sequence, envelopes.back().hash}};
    });
}

Redacted PostgresJournal::erase(const Redaction& redaction, std::span<const Sequence> sequences) {
    return writing<Redacted>([&](pqxx::work& work, const Head& head) -> Written<Redacted> {
        ArrayText list;
        for (const Sequence sequence : sequences) {
            list.add(sequence);
        }
        std::vector<Sequence> erased;
        for (const pqxx::row& row : work.exec_params(
                 "UPDATE envelope SET salt = NULL, body = NULL "
                 "WHERE sequence = ANY($1::bigint[]) AND body IS NOT NULL RETURNING sequence",
                 list.text())) {
            erased.push_back(row[0].as<Sequence>());
        }
        if (erased.empty()) {
            return {Redacted{}, std::nullopt};
        }
        std::sort(erased.begin(), erased.end());
        work.exec("DELETE FROM fold_snapshot");
        const Envelope record = internal::seal(head, internal::redaction_record(redaction, erased));
        internal::insert(work, {record});
        return {Redacted{static_cast<Sequence>(erased.size()), record.sequence},
                Head{record.sequence, record.hash}};
    });
}

void PostgresJournal::each_candidate(const Redaction& redaction,
                                     const std::function<void(const Candidate&)>& visit) const {
    constexpr int page = 10'000;
    ArrayText subjects;
    for (const std::string& subject : redaction.subjects) {
        subjects.add(subject);
    }
    Sequence after = 0;
    for (bool is_more = true; is_more;) {
        const pqxx::result rows = reading([&](pqxx::transaction_base& work) {
            return work.exec_params(
                "SELECT sequence, at, kind, subject FROM envelope WHERE body IS NOT NULL "
                "AND sequence > $1 AND ($2 OR subject = ANY($3::text[])) ORDER BY sequence LIMIT "
                "$4",
                after, redaction.subjects.empty(), subjects.text(), page);
        });
        for (const pqxx::row& row : rows) {
            after = row[0].as<Sequence>();
            visit({after, Instant{Seconds{row[1].as<std::int64_t>()}}, row[2].as<std::string>(),
                   row[3].as<std::string>()});
        }
        is_more = !rows.empty();
    }
}

bool PostgresJournal::remove_remains() {
    reading(
        [](pqxx::transaction_base& work) { return work.exec("VACUUM envelope, fold_snapshot"); });
    return false;  // old bytes may lie in free space and in the server's own log
}

bool PostgresJournal::save_snapshot(const FoldSnapshot& snapshot) {
    return writing<bool>([&](pqxx::work& work, const Head& head) -> Written<bool> {
        const bool is_here = !work.exec_params(
                                      "SELECT 1 FROM envelope WHERE sequence = $1 "
                                      "AND hash = decode($2, 'hex')",
                                      snapshot.head.sequence, to_hex(snapshot.head.hash))
                                  .empty();
        if (!is_here || internal::version_of(work, journal_subject) > snapshot.head.sequence) {
            return {false, std::nullopt};
        }
        work.exec_params(
            "INSERT INTO fold_snapshot(name, version, sequence, hash, state) "
            "VALUES ($1, $2, $3, decode($4, 'hex'), decode($5, 'hex')) "
            "ON CONFLICT (name, version) DO UPDATE SET sequence = excluded.sequence, "
            "hash = excluded.hash, state = excluded.state",
            snapshot.name, snapshot.version, snapshot.head.sequence, to_hex(snapshot.head.hash),
            to_hex(snapshot.state));
        return {true, head};
    });
}

std::optional<FoldSnapshot> PostgresJournal::load_snapshot(const std::string& name,
                                                           int version) const {
    const pqxx::result rows = reading([&](pqxx::transaction_base& work) {
        return work.exec_params(
            "SELECT fold_snapshot.sequence, encode(fold_snapshot.hash, 'hex'), "
            "encode(state, 'hex') FROM fold_snapshot JOIN envelope USING (sequence, hash) "
            "WHERE name = $1 AND version = $2",
            name, version);
    });
    if (rows.empty()) {
        return std::nullopt;
    }
    const pqxx::row row = rows[0];
    return FoldSnapshot{name,
                        version,
                        {row[0].as<Sequence>(), digest_from_hex(row[1].as<std::string>())},
                        bytes_from_hex(row[2].as<std::string>())};
}

Head PostgresJournal::restore(const std::function<std::optional<Envelope>()>& next) {
    constexpr std::size_t page = 500;
    const auto alone = group().exclusive();
    const Connection connection = connect(address_);
    const Head head = internal::with_our_errors(address_, [&] {
        pqxx::work work{*connection};
        if (internal::lock_head(work).sequence != 0) {
            throw Conflict("journal " + address_.shown + " is not empty");
        }
        std::vector<Envelope> some;
        for (auto envelope = next(); envelope; envelope = next()) {
            some.push_back(std::move(*envelope));
            if (some.size() == page) {
                internal::insert(work, some);
                some.clear();
            }
        }
        if (!some.empty()) {
            internal::insert(work, some);
        }
        const Head last = internal::head_of(work);
        work.commit();
        return last;
    });
    announce(head.sequence);
    return head;
}

std::string PostgresJournal::store_damage() const {
    return reading([](pqxx::transaction_base& work) -> std::string {
        const pqxx::row row = work.exec1(
            "SELECT (SELECT sequence FROM journal_head), (SELECT max(sequence) FROM envelope)");
        const auto head = row[0].as<Sequence>();
        const auto last = row[1].as<Sequence>(0);
        return head == last ? ""
                            : "the head says " + std::to_string(head) + ", the last envelope is " +
                                  std::to_string(last);
    });
}

void PostgresJournal::check_end() const {
    const Sequence last = head().sequence;
    std::optional<Head> before;
    for (const Envelope& envelope :
         read(std::max<Sequence>(0, last - checked_at_opening), checked_at_opening)) {
        if (before && (envelope.sequence != before->sequence + 1 ||
                       chain_hash(before->hash, envelope) != envelope.hash)) {
            throw DataError("journal " + address_.shown + ": envelope " +
                            std::to_string(envelope.sequence) +
                            " does not follow from the one before");
        }
        before = Head{envelope.sequence, envelope.hash};
    }
}

}  // namespace

std::unique_ptr<Journal> open_postgres_journal(const std::string& url,
                                               const PostgresOptions& options) {
    return std::make_unique<PostgresJournal>(
        PostgresAddress{url, without_password(url), options.read_only, options.patience});
}

}  // namespace waybourne::journal
