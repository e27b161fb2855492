#include "tests/journal/stores.hpp"

#include <sqlite3.h>

#include <cstdlib>
#include <pqxx/pqxx>

#include "journal/open_journal.hpp"
#include "tests/journal/cluster.hpp"

namespace waybourne::journal::test {

namespace fs = std::filesystem;

TemporaryFolder::TemporaryFolder() {
    std::string pattern = (fs::temp_directory_path() / "waybourne_journal_XXXXXX").string();
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
}

TemporaryFolder::~TemporaryFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
}

std::unique_ptr<Journal> Store::open() const {
    return open_journal(address());
}

namespace {

class SqliteStore final : public Store {
public:
    std::string name() const override { return "SQLite"; }
    std::string address() const override { return (folder_.path() / "journal.db").string(); }
    void tamper(const std::string& sql) override {
        sqlite3* database = nullptr;
        REQUIRE(sqlite3_open(address().c_str(), &database) == SQLITE_OK);
        CHECK(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
        sqlite3_close(database);
    }

private:
    TemporaryFolder folder_;
};

class PostgresStore final : public Store {
public:
    PostgresStore() : address_(new_postgres_address()) {}
    std::string name() const override { return "PostgreSQL"; }
    std::string address() const override { return address_; }
    void tamper(const std::string& sql) override {
        pqxx::connection connection{address_};
        pqxx::nontransaction work{connection};
        work.exec(sql);
    }

private:
    std::string address_;
};

}  // namespace

std::unique_ptr<Store> postgres_store() {
    return std::make_unique<PostgresStore>();
}

std::unique_ptr<Store> sqlite_store() {
    return std::make_unique<SqliteStore>();
}

void on_each_store(const std::function<void(Store&)>& run) {
    for (const auto& make : {sqlite_store, postgres_store}) {
        const std::unique_ptr<Store> store = make();
        const std::string name = store->name();
        CAPTURE(name);
        run(*store);
    }
}

Append event(const std::string& subject, const std::string& text, const std::string& key) {
    return {noon, "clinic-7", key, {{"referral.noted", subject, "{\"text\": \"" + text + "\"}"}}};
}

std::vector<Envelope> all_of(const Journal& journal) {
    std::vector<Envelope> all;
    for (auto page = journal.read(0, 100); !page.empty();
         page = journal.read(all.back().sequence, 100)) {
        all.insert(all.end(), page.begin(), page.end());
    }
    return all;
}

}  // namespace waybourne::journal::test
