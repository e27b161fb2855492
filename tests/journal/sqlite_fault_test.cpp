#include <sqlite3.h>

#include <algorithm>
#include <fstream>
#include <set>
#include <thread>

#include "journal/sqlite_journal.hpp"
#include "journal/verify.hpp"
#include "tests/journal/fault_vfs.hpp"
#include "tests/journal/stores.hpp"

// What can go wrong with a disk. "Nothing acknowledged is lost" is our own promise (journal.hpp).

namespace waybourne::journal::test {

namespace fs = std::filesystem;

namespace {

/// A journal on a disk of ours.
struct Faulty {
    TemporaryFolder folder = {};
    FaultVfs disk = {};
    fs::path file = folder.path() / "journal.db";
    std::unique_ptr<Journal> open() const {
        return open_sqlite_journal(file, {.vfs = disk.name(), .patience = 50ms});
    }
};

/// What was acknowledged when the power was cut, and where the disk's content is.
struct Photo {
    std::vector<Envelope> acknowledged;
    fs::path folder;
};

/// Four writers; the power is cut at some operations, of about the first 150.
std::vector<Photo> photographs(const fs::path& to, std::uint64_t seed, bool disk_lies) {
    constexpr int writers = 4;
    constexpr int each = 12;
    std::mt19937_64 random{seed};
    std::set<std::size_t> at;
    while (at.size() < 8) {
        at.insert(1 + random() % 150);
    }
    Faulty faulty;
    const auto journal = faulty.open();
    if (disk_lies) {
        faulty.disk.lie_about_syncs();
    }
    std::mutex mutex;
    std::vector<Envelope> acknowledged;
    std::vector<Photo> photos;
    faulty.disk.on_operation([&](std::size_t number) {
        if (at.count(number) == 0) {
            return;
        }
        const std::lock_guard lock{mutex};
        photos.push_back({acknowledged, to / std::to_string(number)});
        fs::create_directories(photos.back().folder);
        faulty.disk.cut_power(photos.back().folder, random);
    });
    std::vector<std::jthread> threads;
    for (int writer = 0; writer < writers; ++writer) {
        threads.emplace_back([&, writer] {
            for (int i = 0; i < each; ++i) {
                const std::string key = std::to_string(writer) + "/" + std::to_string(i);
                Envelope envelope;
                envelope.idempotency_key = key;
                envelope.sequence = journal->append(event("referral/A", key, key)).first;
                const std::lock_guard lock{mutex};
                acknowledged.push_back(envelope);
            }
        });
    }
    threads.clear();
    faulty.disk.on_operation({});
    return photos;
}

/// How many acknowledged events are not where they should be; -1: the journal is damaged.
int lost_in(const Photo& photo) {
    std::unique_ptr<Journal> journal;
    try {
        journal = open_sqlite_journal(photo.folder / "journal.db");
        if (!verify(*journal).passed() || !journal->store_damage().empty()) {
            return -1;
        }
    } catch (const DataError&) {
        return -1;
    }
    const auto all = all_of(*journal);
    int lost = 0;
    for (const Envelope& envelope : photo.acknowledged) {
        const auto place = static_cast<std::size_t>(envelope.sequence - 1);
        lost +=
            place < all.size() && all[place].idempotency_key == envelope.idempotency_key ? 0 : 1;
    }
    std::set<std::string> keys;
    for (const Envelope& envelope : all) {
        CHECK(keys.insert(envelope.idempotency_key).second);
    }
    return lost;
}

}  // namespace

TEST_CASE("A power cut at any instant loses nothing that was acknowledged") {
    constexpr std::uint64_t first_seed = 20260304;
    int photos = 0;
    std::size_t acknowledged = 0;
    for (std::uint64_t seed = first_seed; seed < first_seed + 8; ++seed) {
        CAPTURE(seed);
        const TemporaryFolder folder;
        for (const Photo& photo : photographs(folder.path(), seed, false)) {
            CHECK(lost_in(photo) == 0);
            ++photos;
            acknowledged += photo.acknowledged.size();
        }
    }
    MESSAGE(photos << " power cuts, " << acknowledged << " acknowledged events looked for");
    CHECK(photos >= 40);
    CHECK(acknowledged > 400);
}

TEST_CASE("The power cut of these tests does lose what a lying disk did not sync") {
    // Otherwise the case above would prove nothing.
    const TemporaryFolder folder;
    int bad = 0;
    for (const Photo& photo : photographs(folder.path(), 7, true)) {
        bad += lost_in(photo) == 0 ? 0 : 1;
    }
    CHECK(bad > 0);
}

TEST_CASE("On a full disk nothing is acknowledged, and it goes on when there is room again") {
    Faulty faulty;
    FaultVfs& disk = faulty.disk;
    const auto journal = faulty.open();
    journal->append(event("referral/A", "opened", "k1"));
    disk.answer_writes(SQLITE_FULL);
    CHECK_THROWS_AS(journal->append(event("referral/A", "accepted", "k2")), StorageFull);
    CHECK(journal->head().sequence == 1);
    // What was stored can still be read, and a retry of it is still known.
    CHECK(journal->append(event("referral/A", "opened", "k1")).was_there);
    disk.answer_writes(SQLITE_OK);
    CHECK(journal->append(event("referral/A", "accepted", "k2")) == Appended{2, 2, false});
    CHECK(verify(*journal).passed());
}

TEST_CASE("A disk that can only be read says so, and nothing is acknowledged") {
    Faulty faulty;
    FaultVfs& disk = faulty.disk;
    const auto journal = faulty.open();
    journal->append(event("referral/A", "opened"));
    disk.answer_writes(SQLITE_READONLY);
    CHECK_THROWS_AS(journal->append(event("referral/A", "accepted")), StorageReadOnly);
    CHECK(journal->head().sequence == 1);
    const auto reader = open_sqlite_journal(faulty.file, {.read_only = true});
    CHECK(reader->read(0, 10).size() == 1);
    CHECK_THROWS_AS(reader->append(event("referral/A", "accepted")), StorageReadOnly);
    Redaction redaction{noon, "administrator-1", "asked for"};
    redaction.subjects = {"referral/A"};
    CHECK_THROWS_AS(reader->redact(redaction), StorageReadOnly);
}

TEST_CASE("After a failed sync the journal takes nothing more until it is opened again") {
    // The operating system may have dropped what it could not write: trying again proves nothing
    // (PostgreSQL's wiki, "Fsync Errors"; from memory).
    Faulty faulty;
    FaultVfs& disk = faulty.disk;
    {
        const auto journal = faulty.open();
        journal->append(event("referral/A", "opened", "k1"));
        disk.answer_syncs(SQLITE_IOERR_FSYNC);
        CHECK_THROWS_AS(journal->append(event("referral/A", "accepted", "k2")), StorageFailed);
        disk.answer_syncs(SQLITE_OK);
        CHECK_THROWS_AS(journal->append(event("referral/A", "accepted", "k2")), StorageFailed);
    }
    const auto journal = faulty.open();
    journal->append(event("referral/A", "accepted", "k2"));
    CHECK(journal->head().sequence == 2);  // once, whether the first attempt was kept or not
    CHECK(verify(*journal).passed());
}

TEST_CASE("When another program holds the file too long, it is said and nothing is stored") {
    Faulty faulty;
    const auto journal = faulty.open();
    sqlite3* other = nullptr;
    REQUIRE(sqlite3_open(faulty.file.c_str(), &other) == SQLITE_OK);
    REQUIRE(sqlite3_exec(other, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr) == SQLITE_OK);
    CHECK_THROWS_AS(journal->append(event("referral/A", "opened")), StorageBusy);
    CHECK(journal->head().sequence == 0);  // reading is not disturbed
    sqlite3_exec(other, "ROLLBACK", nullptr, nullptr, nullptr);
    sqlite3_close(other);
    CHECK(journal->append(event("referral/A", "opened")).last == 1);
}

TEST_CASE("A file that is damaged, no journal, or a newer program's is refused with the reason") {
    const TemporaryFolder folder;
    const fs::path file = folder.path() / "journal.db";
    const auto refusal = [&]() -> std::string {
        try {
            open_sqlite_journal(file);
            return "";
        } catch (const DataError& error) {
            return error.what();
        }
    };
    const auto has = [](const std::string& text, const std::string& part) {
        return text.find(part) != std::string::npos;
    };
    const auto run = [&](const char* sql) {
        sqlite3* database = nullptr;
        REQUIRE(sqlite3_open(file.c_str(), &database) == SQLITE_OK);
        REQUIRE(sqlite3_exec(database, sql, nullptr, nullptr, nullptr) == SQLITE_OK);
        sqlite3_close(database);
    };
    std::ofstream{file} << std::string(8192, 'x');
    CHECK(has(refusal(), "not a database"));
    fs::remove(file);
    run("CREATE TABLE recipes(name TEXT)");
    CHECK(has(refusal(), "is not a journal"));
    fs::remove(file);
    {
        const auto journal = open_sqlite_journal(file);
        for (int i = 0; i < 200; ++i) {
            journal->append(event("referral/A", std::string(200, 'x')));
        }
    }
    run("PRAGMA user_version = 3");
    CHECK(has(refusal(), "newer program (schema 3, this program knows 2)"));
    run("PRAGMA user_version = 2");
    CHECK(refusal().empty());
    run("UPDATE envelope SET who = 'somebody else' WHERE sequence = 190");
    CHECK(has(refusal(), "envelope 190 does not follow"));
    run("UPDATE envelope SET who = 'clinic-7' WHERE sequence = 190");
    CHECK(refusal().empty());
    // The second half of the file overwritten.
    const auto size = static_cast<std::streamoff>(fs::file_size(file));
    std::fstream stream{file, std::ios::in | std::ios::out | std::ios::binary};
    stream.seekp(size / 2);
    stream << std::string(static_cast<std::size_t>(size - size / 2), '\x5a');
    stream.close();
    CHECK(has(refusal(), "malformed"));
}

TEST_CASE("A journal of the first version becomes one of today's, with all it holds") {
    const TemporaryFolder folder;
    const fs::path file = folder.path() / "journal.db";
    const auto before = [&] {
        const auto journal = open_sqlite_journal(file);
        journal->append(event("referral/A", "opened"));
        return all_of(*journal);
    }();
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open(file.c_str(), &database) == SQLITE_OK);
    // What version 1 looked like: no snapshots of folds.
    REQUIRE(sqlite3_exec(database, "DROP TABLE fold_snapshot; PRAGMA user_version = 1;", nullptr,
                         nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
    CHECK_THROWS_AS(open_sqlite_journal(file, {.read_only = true}), DataError);
    const auto journal = open_sqlite_journal(file);
    CHECK(all_of(*journal) == before);
    CHECK(journal->save_snapshot({"tally", 1, journal->head(), "state"}));
}

TEST_CASE("Only its owner may read a journal") {
    const TemporaryFolder folder;
    const fs::path file = folder.path() / "journal.db";
    const auto journal = open_sqlite_journal(file);
    journal->append(event("referral/A", "opened"));
    int files = 0;
    for (const auto& entry : fs::directory_iterator{folder.path()}) {
        CHECK((entry.status().permissions() & (fs::perms::group_all | fs::perms::others_all)) ==
              fs::perms::none);
        ++files;
    }
    CHECK(files == 3);  // the database, its log and the log's index
    CHECK_THROWS_AS(open_sqlite_journal(folder.path() / "none" / "journal.db"), NotFound);
}

TEST_CASE("A backup is whole although others write while it is made") {
    const TemporaryFolder folder;
    const fs::path file = folder.path() / "journal.db";
    const auto journal = open_sqlite_journal(file);
    for (int i = 0; i < 50; ++i) {
        journal->append(event("referral/A", std::to_string(i)));
    }
    std::jthread writer{[&](const std::stop_token& stop) {
        while (!stop.stop_requested()) {
            journal->append(event("referral/B", "more"));
        }
    }};
    for (int i = 0; i < 3; ++i) {
        const fs::path copy = folder.path() / ("copy" + std::to_string(i) + ".db");
        backup_sqlite_journal(file, copy);
        const auto copied = open_sqlite_journal(copy, {.read_only = true});
        CHECK(verify(*copied).passed());
        CHECK(copied->head().sequence >= 50);
        CHECK_THROWS_AS(backup_sqlite_journal(file, copy), Conflict);
    }
    writer.request_stop();
}

}  // namespace waybourne::journal::test
