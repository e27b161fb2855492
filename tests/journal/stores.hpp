#pragma once
/// The stores that every promise is tested on.

#include <doctest/doctest.h>

#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "journal/journal.hpp"

namespace waybourne::journal::test {

/// A folder that goes when this does.
class TemporaryFolder {
public:
    TemporaryFolder();
    ~TemporaryFolder();
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;
    const std::filesystem::path& path() const { return path_; }

private:
    std::filesystem::path path_;
};

/// One store with an empty journal of its own.
class Store {
public:
    Store() = default;
    virtual ~Store() = default;
    Store(const Store&) = delete;
    Store& operator=(const Store&) = delete;
    virtual std::string name() const = 0;
    virtual std::string address() const = 0;
    /// Runs a statement behind the journal's back. Tables and columns have the same names in both.
    virtual void tamper(const std::string& sql) = 0;
    std::unique_ptr<Journal> open() const;
};

/// Runs the case once on each store: SQLite, then PostgreSQL.
void on_each_store(const std::function<void(Store&)>& run);

std::unique_ptr<Store> sqlite_store();
std::unique_ptr<Store> postgres_store();

inline const Instant noon = parse_rfc3339("2026-03-04T12:00:00Z");

/// One event, `{"text": …}`.
Append event(const std::string& subject, const std::string& text, const std::string& key = "");

/// All there is.
std::vector<Envelope> all_of(const Journal& journal);

}  // namespace waybourne::journal::test
