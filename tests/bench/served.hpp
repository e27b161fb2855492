#pragma once
/// `waybourne serve` as it is installed: a process of its own, on a journal of its own.

#include <sys/types.h>

#include <filesystem>
#include <string>

namespace waybourne::bench {

/// From the moment this exists it serves; it ends with this, whatever happens.
class Served {
public:
    /// @throws std::runtime_error when it does not come to serve
    explicit Served(const std::string& journal);
    ~Served();
    Served(const Served&) = delete;
    Served& operator=(const Served&) = delete;

    int port() const { return port_; }
    /// VmRSS, or VmHWM for the highest so far.
    double resident_megabytes(const std::string& name) const;

private:
    pid_t child_ = 0;
    int port_ = 0;
};

/// A folder of its own that goes with it.
class JournalFolder {
public:
    JournalFolder();
    ~JournalFolder() { std::filesystem::remove_all(path_); }
    JournalFolder(const JournalFolder&) = delete;
    JournalFolder& operator=(const JournalFolder&) = delete;
    std::string file() const { return (path_ / "journal.db").string(); }

private:
    std::filesystem::path path_;
};

}  // namespace waybourne::bench
