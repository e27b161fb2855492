#include "tests/journal/cluster.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <pwd.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <pqxx/pqxx>
#include <stdexcept>
#include <thread>
#include <vector>

namespace waybourne::journal::test {

namespace fs = std::filesystem;

namespace {

// Debian 12's place for the server's programs, which are not on the path.
const fs::path programs = "/usr/lib/postgresql/15/bin";

/// The user that the server runs as: ourselves, unless we are root.
const passwd* unprivileged() {
    if (geteuid() != 0) {
        return nullptr;
    }
    const passwd* user = getpwnam("postgres");
    return user != nullptr ? user : getpwnam("nobody");
}

int free_port() {
    const int probe = socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t length = sizeof address;
    const bool is_bound = bind(probe, reinterpret_cast<sockaddr*>(&address), length) == 0 &&
                          getsockname(probe, reinterpret_cast<sockaddr*>(&address), &length) == 0;
    close(probe);
    if (!is_bound) {
        throw std::runtime_error("no free port on the loopback address");
    }
    return ntohs(address.sin_port);
}

/// In a process group of its own, so that all its processes can be reached; ends with us.
pid_t run(const std::vector<std::string>& command, const fs::path& folder) {
    const passwd* user = unprivileged();
    std::vector<char*> arguments;
    for (const std::string& argument : command) {
        arguments.push_back(const_cast<char*>(argument.c_str()));
    }
    arguments.push_back(nullptr);
    const std::string log = (folder / "log").string();
    const pid_t child = fork();
    if (child != 0) {
        return child;
    }
    setpgid(0, 0);
    if (user != nullptr && (setgid(user->pw_gid) != 0 || setuid(user->pw_uid) != 0)) {
        _exit(126);
    }
    prctl(PR_SET_PDEATHSIG, SIGQUIT);
    const int out = open(log.c_str(), O_CREAT | O_APPEND | O_WRONLY, 0600);
    if (chdir(folder.c_str()) != 0 || dup2(out, STDOUT_FILENO) < 0 ||
        dup2(out, STDERR_FILENO) < 0) {
        _exit(126);
    }
    execv(arguments[0], arguments.data());
    _exit(127);
}

}  // namespace

Cluster::Cluster() {
    std::string pattern = (fs::temp_directory_path() / "waybourne_postgres_XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) {
        throw std::runtime_error("no temporary folder");
    }
    folder_ = pattern;
    if (const passwd* user = unprivileged()) {
        if (chown(folder_.c_str(), user->pw_uid, user->pw_gid) != 0) {
            throw std::runtime_error("the temporary folder cannot be given away");
        }
    }
    const pid_t init = run({(programs / "initdb").string(), "-D", (folder_ / "data").string(), "-U",
                            "waybourne", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"},
                           folder_);
    int status = 0;
    if (waitpid(init, &status, 0) != init || status != 0) {
        throw std::runtime_error("initdb failed; is Debian's package postgresql installed? See " +
                                 (folder_ / "log").string());
    }
    port_ = free_port();
    start();
}

Cluster::~Cluster() {
    stop();
    std::error_code ignored;
    fs::remove_all(folder_, ignored);
}

std::string Cluster::url(const std::string& schema) const {
    return "postgresql://waybourne@127.0.0.1:" + std::to_string(port_) +
           "/postgres?options=-csearch_path%3D" + schema;
}

void Cluster::start() {
    const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds{30};
    while (std::chrono::steady_clock::now() < deadline) {
        if (server_ < 0) {
            server_ = run({(programs / "postgres").string(), "-D", (folder_ / "data").string(),
                           "-p", std::to_string(port_), "-c", "listen_addresses=127.0.0.1", "-c",
                           "unix_socket_directories=", "-c", "max_connections=200"},
                          folder_);
        }
        try {
            const pqxx::connection connection{url("public")};
            return;
        } catch (const pqxx::failure&) {
            std::this_thread::sleep_for(std::chrono::milliseconds{20});
        }
        if (waitpid(server_, nullptr, WNOHANG) == server_) {
            server_ = -1;  // processes of a killed one may still be going: once more
        }
    }
    throw std::runtime_error("PostgreSQL did not start; see " + (folder_ / "log").string());
}

void Cluster::kill() {
    // Its processes lead groups of their own, so they are listed one by one, and before it is gone.
    const std::string pid = std::to_string(server_);
    std::ifstream list{"/proc/" + pid + "/task/" + pid + "/children"};
    const std::vector<pid_t> children{std::istream_iterator<pid_t>{list}, {}};
    ::kill(server_, SIGKILL);
    for (const pid_t child : children) {
        ::kill(child, SIGKILL);
    }
    waitpid(server_, nullptr, 0);
    server_ = -1;
}

void Cluster::stop() {
    if (server_ > 0) {
        ::kill(server_, SIGINT);
        waitpid(server_, nullptr, 0);
        server_ = -1;
    }
}

Cluster& cluster() {
    static Cluster one;
    return one;
}

std::string new_postgres_address() {
    static int count = 0;
    const std::string schema = "journal_" + std::to_string(++count);
    pqxx::connection connection{cluster().url("public")};
    pqxx::nontransaction work{connection};
    work.exec("CREATE SCHEMA " + schema);
    return cluster().url(schema);
}

}  // namespace waybourne::journal::test

/// Read by the leak sanitizer: libpqxx 6.4 forgets the result of a statement during which the
/// server goes down, which the tests make happen on purpose.
// NOLINTNEXTLINE(bugprone-reserved-identifier,readability-identifier-naming): the sanitizer's name
extern "C" const char* __lsan_default_suppressions() {
    return "leak:PQmakeEmptyPGresult\n";
}
