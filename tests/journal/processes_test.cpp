#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <set>
#include <thread>

#include "journal/fold.hpp"
#include "journal/postgres_journal.hpp"
#include "journal/verify.hpp"
#include "tests/journal/cluster.hpp"
#include "tests/journal/stores.hpp"

// Several servers, or a server and an operator's command, on one journal.

namespace waybourne::journal::test {

namespace {

constexpr int each = 40;

/// Appends from a process of its own, following at the same time; what it saw goes through the
/// pipe, one hash a line.
pid_t start_writer(const Store& store, const std::string& name, int pipe) {
    const pid_t child = fork();
    if (child != 0) {
        return child;
    }
    int code = 1;
    try {
        const auto journal = store.open();
        std::string seen;
        std::jthread follower{[&](const std::stop_token& stop) {
            int count = 0;
            std::stop_source enough;
            const std::stop_callback link{stop, [&] { enough.request_stop(); }};
            follow(*journal, 0, enough.get_token(), [&](const Envelope& envelope) {
                seen += std::to_string(envelope.sequence) + " " + to_hex(envelope.hash) + "\n";
                if (++count == 2 * each) {
                    enough.request_stop();
                }
            });
        }};
        for (int i = 0; i < each; ++i) {
            const std::string key = name + std::to_string(i);
            journal->append(event("referral/" + name, key, key));
        }
        follower.join();  // it has seen those of both
        code = write(pipe, seen.data(), seen.size()) == static_cast<ssize_t>(seen.size()) ? 0 : 1;
    } catch (const std::exception&) {
        // told by the exit code
    }
    _exit(code);
}

std::string read_all(int pipe) {
    std::string text;
    std::array<char, 4096> part{};
    for (ssize_t count = 0; (count = read(pipe, part.data(), part.size())) > 0;) {
        text.append(part.data(), static_cast<std::size_t>(count));
    }
    close(pipe);
    return text;
}

/// What an append is refused as.
std::string refusal_of(Journal& journal, const Append& append) {
    try {
        journal.append(append);
        return "not refused";
    } catch (const StorageFull&) {
        return "full";
    } catch (const StorageReadOnly&) {
        return "read only";
    } catch (const StorageBusy&) {
        return "busy";
    } catch (const DataError&) {
        return "damaged";
    } catch (const std::exception& error) {
        return error.what();
    }
}

}  // namespace

TEST_CASE("Two servers that write at the same time see the same order, and so do their followers") {
    on_each_store([](Store& store) {
        store.open();  // made before the two start
        std::vector<std::string> seen;
        std::vector<pid_t> writers;
        std::vector<int> ends;
        for (const char* name : {"north", "south"}) {
            std::array<int, 2> ends_of_pipe{};
            REQUIRE(pipe(ends_of_pipe.data()) == 0);
            writers.push_back(start_writer(store, name, ends_of_pipe[1]));
            close(ends_of_pipe[1]);
            ends.push_back(ends_of_pipe[0]);
        }
        for (std::size_t i = 0; i < writers.size(); ++i) {
            seen.push_back(read_all(ends[i]));
            int status = 0;
            CHECK(waitpid(writers[i], &status, 0) == writers[i]);
            CHECK(status == 0);
        }
        CHECK_FALSE(seen[0].empty());
        CHECK(seen[0] == seen[1]);
        const auto journal = store.open();
        std::string stored;
        std::set<std::string> keys;
        for (const Envelope& envelope : all_of(*journal)) {
            stored += std::to_string(envelope.sequence) + " " + to_hex(envelope.hash) + "\n";
            keys.insert(envelope.idempotency_key);
        }
        CHECK(stored == seen[0]);
        CHECK(keys.size() == 2 * each);
        CHECK(verify(*journal).passed());
    });
}

TEST_CASE("When PostgreSQL goes down and comes back, writers and followers go on where they were") {
    const auto store = postgres_store();
    const auto journal = store->open();
    journal->append(event("referral/A", "opened", "k1"));
    std::atomic<Sequence> last = 0;
    std::jthread follower{[&](const std::stop_token& stop) {
        // A follower that is told of the lost connection simply starts again.
        while (!stop.stop_requested()) {
            try {
                follow(*journal, last, stop, [&](const Envelope& envelope) {
                    CHECK(envelope.sequence == last + 1);
                    last = envelope.sequence;
                });
            } catch (const Unavailable&) {
                std::this_thread::sleep_for(20ms);
            }
        }
    }};
    cluster().stop();
    // Within the patience of 5 s the append waits for the server. (The server ends with the thread
    // that started it, so that is this one.)
    Appended accepted;
    std::jthread writer{[&] { accepted = journal->append(event("referral/A", "accepted", "k2")); }};
    std::this_thread::sleep_for(300ms);
    cluster().start();
    writer.join();
    CHECK(accepted == Appended{2, 2, false});
    CHECK(journal->head().sequence == 2);
    for (int i = 0; i < 500 && last < 2; ++i) {
        std::this_thread::sleep_for(10ms);
    }
    CHECK(last == 2);
    follower.request_stop();
    follower.join();
    CHECK(verify(*journal).passed());
}

TEST_CASE("A server that cannot be reached is told in time, and stores nothing") {
    const auto store = postgres_store();
    const auto journal = open_postgres_journal(store->address(), {.patience = 200ms});
    cluster().stop();
    CHECK_THROWS_AS(journal->append(event("referral/A", "opened")), StorageFailed);
    CHECK_THROWS_AS(journal->head(), StorageFailed);
    CHECK_THROWS_AS(store->open(), Unavailable);
    cluster().start();
    CHECK(journal->head().sequence == 0);
    CHECK(journal->append(event("referral/A", "opened")).last == 1);
}

TEST_CASE("Whatever is wrong with PostgreSQL is said for what it is, and nothing is acknowledged") {
    // Error codes: PostgreSQL 15 manual, appendix A. The server itself raises what it would raise.
    const std::vector<std::pair<std::string, std::string>> troubles{
        {"53100", "full"}, {"25006", "read only"}, {"42501", "read only"}, {"55P03", "busy"},
        {"40001", "busy"}, {"40P01", "busy"},      {"XX001", "damaged"},   {"42P01", "damaged"}};
    for (const auto& trouble : troubles) {
        const std::string& code = trouble.first;
        const std::string& kind = trouble.second;
        CAPTURE(code);
        const auto store = postgres_store();
        const auto journal = store->open();
        journal->append(event("referral/A", "opened", "k1"));
        store->tamper(
            "CREATE FUNCTION no_more() RETURNS trigger LANGUAGE plpgsql AS "
            "'BEGIN RAISE EXCEPTION USING ERRCODE = ''" +
            code +
            "'', MESSAGE = ''no more''; END'; "
            "CREATE TRIGGER no_more BEFORE INSERT ON envelope EXECUTE FUNCTION no_more()");
        CHECK(refusal_of(*journal, event("referral/A", "accepted", "k2")) == kind);
        CHECK(journal->head().sequence == 1);
        CHECK(journal->read(0, 10).size() == 1);  // reading goes on
        CHECK(journal->append(event("referral/A", "opened", "k1")).was_there);
        store->tamper("DROP TRIGGER no_more ON envelope");
        CHECK(journal->append(event("referral/A", "accepted", "k2")) == Appended{2, 2, false});
        CHECK(verify(*journal).passed());
    }
}

TEST_CASE("On PostgreSQL a reader changes nothing, and a newer program's journal is refused") {
    const auto store = postgres_store();
    PostgresOptions reading;
    reading.read_only = true;
    CHECK_THROWS_AS(open_postgres_journal(store->address(), reading), NotFound);
    store->open()->append(event("referral/A", "opened"));
    const auto reader = open_postgres_journal(store->address(), reading);
    CHECK(reader->read(0, 10).size() == 1);
    CHECK_THROWS_AS(reader->append(event("referral/A", "accepted")), StorageReadOnly);
    store->tamper("DROP TABLE fold_snapshot; UPDATE journal_schema SET version = 1");
    CHECK_THROWS_AS(open_postgres_journal(store->address(), reading), DataError);
    CHECK(store->open()->save_snapshot({"tally", 1, reader->head(), "state"}));
    store->tamper("UPDATE journal_schema SET version = 3");
    CHECK_THROWS_AS(store->open(), DataError);
    store->tamper("UPDATE journal_schema SET version = 2");
    store->tamper("DELETE FROM envelope");  // the head still says 1
    CHECK_FALSE(store->open()->store_damage().empty());
}

}  // namespace waybourne::journal::test
