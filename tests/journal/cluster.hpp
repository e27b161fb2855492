#pragma once
/// A PostgreSQL server of our own, for as long as a test program runs.

#include <sys/types.h>

#include <filesystem>
#include <string>

namespace waybourne::journal::test {

/// A cluster in a temporary folder, listening on a free port of the loopback address, run by an
/// unprivileged user (PostgreSQL refuses root). Stopped and removed when this goes; the server also
/// ends when the thread that started it ends. Not thread-safe.
class Cluster {
public:
    /// @throws std::runtime_error saying what is missing
    Cluster();
    ~Cluster();
    Cluster(const Cluster&) = delete;
    Cluster& operator=(const Cluster&) = delete;

    /// Of the superuser, in the database `postgres`, where unqualified names mean this schema.
    std::string url(const std::string& schema) const;

    void start();
    /// SIGKILL to the server and all its processes: what a power cut is to PostgreSQL, but for what
    /// the operating system still writes.
    void kill();
    void stop();

private:
    std::filesystem::path folder_;
    int port_ = 0;
    pid_t server_ = -1;
};

/// The one of this program, started when it is first asked for.
Cluster& cluster();

/// A new empty schema in it; the address of a journal there.
std::string new_postgres_address();

}  // namespace waybourne::journal::test
