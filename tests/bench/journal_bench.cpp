/// How fast the journal takes events, beside a bare loop of SQLite inserts with the same durability
/// on the same disk, and how fast it starts. WAYBOURNE_BENCH_DIR names a folder on the disk to be
/// measured (default: the build folder).

#include <sqlite3.h>

#include <atomic>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <thread>

#include "journal/fold.hpp"
#include "journal/sqlite_journal.hpp"
#include "tests/bench/figure.hpp"

using namespace waybourne;
using namespace waybourne::journal;

namespace {

namespace fs = std::filesystem;

constexpr int runs = 5;
constexpr int writers = 32;
const Instant noon = parse_rfc3339("2026-03-04T12:00:00Z");
// About what a referral's step takes: a state, a reason, a place, three times.
const std::string body = "{\"text\": \"" + std::string(240, 'x') + "\"}";

/// A file that is gone before and after.
class Scratch {
public:
    explicit Scratch(const char* name) {
        const char* folder = std::getenv("WAYBOURNE_BENCH_DIR");
        path_ = fs::path{folder != nullptr ? folder : "build"} / name;
        remove();
    }
    ~Scratch() { remove(); }
    Scratch(const Scratch&) = delete;
    Scratch& operator=(const Scratch&) = delete;
    const fs::path& path() const { return path_; }

private:
    void remove() const {
        for (const char* suffix : {"", "-wal", "-shm"}) {
            fs::remove(path_.string() + suffix);
        }
    }
    fs::path path_;
};

void must(int code, sqlite3* database) {
    if (code != SQLITE_OK && code != SQLITE_DONE) {
        std::cerr << "journal_bench: " << sqlite3_errmsg(database) << '\n';
        std::exit(1);
    }
}

/// A table with the body alone; each insert a transaction of its own, WAL and full sync.
class BareLoop {
public:
    explicit BareLoop(const fs::path& path) {
        must(sqlite3_open(path.c_str(), &database_), database_);
        must(sqlite3_exec(database_,
                          "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                          "CREATE TABLE event(id INTEGER PRIMARY KEY, body TEXT)",
                          nullptr, nullptr, nullptr),
             database_);
        must(sqlite3_prepare_v2(database_, "INSERT INTO event(body) VALUES(?)", -1, &insert_,
                                nullptr),
             database_);
    }
    ~BareLoop() {
        sqlite3_finalize(insert_);
        sqlite3_close(database_);
    }
    BareLoop(const BareLoop&) = delete;
    BareLoop& operator=(const BareLoop&) = delete;

    void insert(int count) {
        for (int i = 0; i < count; ++i) {
            sqlite3_bind_text(insert_, 1, body.data(), static_cast<int>(body.size()),
                              SQLITE_STATIC);
            must(sqlite3_step(insert_), database_);
            sqlite3_reset(insert_);
        }
    }

private:
    sqlite3* database_ = nullptr;
    sqlite3_stmt* insert_ = nullptr;
};

void append(Journal& journal, int writer, int count) {
    static std::atomic<int> number = 0;
    for (int i = 0; i < count; ++i) {
        const std::string key = std::to_string(number++);
        journal.append({noon,
                        "clinic-7",
                        key,
                        {{"referral.noted", "referral/" + std::to_string(writer), body}}});
    }
}

/// Rates in turns within one process, so that a disk that changes its mind hurts all alike.
void measure_appends() {
    constexpr int each = 100;
    const Scratch bare_file{"journal_bench_bare.db"};
    const Scratch journal_file{"journal_bench.db"};
    BareLoop bare{bare_file.path()};
    const auto journal = open_sqlite_journal(journal_file.path());
    std::vector<double> bare_rates;
    std::vector<double> single;
    std::vector<double> many;
    for (int run = 0; run < runs; ++run) {
        bare_rates.push_back(each / bench::seconds([&] { bare.insert(each); }));
        const double rate = bare_rates.back();
        single.push_back(each / bench::seconds([&] { append(*journal, 0, each); }) / rate);
        many.push_back(writers * each / bench::seconds([&] {
                           std::vector<std::jthread> threads;
                           for (int writer = 0; writer < writers; ++writer) {
                               threads.emplace_back(
                                   [&, writer] { append(*journal, writer, each); });
                           }
                       }) /
                       rate);
    }
    const std::string against = "bare SQLite inserts, WAL, full sync";
    bench::print({"journal_bare", "bare SQLite inserts", bench::median(bare_rates), "1/s", "", "",
                  "one table, 252 bytes"});
    bench::print({"journal_single", "appends by one writer", bench::median(single), "ratio",
                  against, ">= 0.8", "252-byte bodies"});
    bench::print({"journal_group", "appends by 32 writers", bench::median(many), "ratio", against,
                  ">= 5", "252-byte bodies"});
}

Fold<std::int64_t> counting() {
    return {"count", 1, [](std::int64_t& count, const Envelope&) { ++count; },
            [](const std::int64_t& count) { return std::to_string(count); },
            [](const std::string& text) { return std::int64_t{std::stoll(text)}; }};
}

void measure_start(std::int64_t events) {
    constexpr std::int64_t together = 1000;
    constexpr std::int64_t after_snapshot = 10'000;
    const Scratch file{"journal_bench_start.db"};
    {
        const auto journal = open_sqlite_journal(file.path());
        Append many{noon, "clinic-7", "", {}};
        for (std::int64_t i = 0; i < together; ++i) {
            many.entries.push_back({"referral.noted", "referral/" + std::to_string(i), body});
        }
        for (std::int64_t i = 0; i < events; i += together) {
            journal->append(many);
            if (i == events - after_snapshot) {
                save(*journal, counting(), load(*journal, counting()));
            }
        }
    }
    const std::string network = std::to_string(events) + " events";
    const auto start = [&](const Fold<std::int64_t>& fold) {
        const auto journal = open_sqlite_journal(file.path());
        bench::keep(static_cast<std::size_t>(load(*journal, fold).state));
    };
    bench::print({"journal_start", "opening and folding from a snapshot 10,000 events old",
                  bench::median_seconds(runs, [&] { start(counting()); }), "s", "", "< 3",
                  network});
    Fold<std::int64_t> newer = counting();
    newer.version = 2;
    bench::print({"journal_start_anew", "opening and folding from the first event",
                  bench::median_seconds(1, [&] { start(newer); }), "s", "", "", network});
}

}  // namespace

int main(int count, char** values) {
    const bench::Arguments arguments = bench::parse_arguments(count, values);
    if (arguments.wants("journal_bare") || arguments.wants("journal_single") ||
        arguments.wants("journal_group")) {
        measure_appends();
    }
    if (arguments.wants("journal_start") || arguments.wants("journal_start_anew")) {
        measure_start(1'000'000);
    }
    return 0;
}
