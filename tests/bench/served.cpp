#include "tests/bench/served.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <stdexcept>

namespace waybourne::bench {

namespace fs = std::filesystem;

Served::Served(const std::string& journal) {
    std::array<int, 2> ends{};
    if (pipe(ends.data()) != 0) {
        throw std::runtime_error("no pipe");
    }
    const fs::path program =
        fs::read_symlink("/proc/self/exe").parent_path() / ".." / ".." / "server" / "waybourne";
    child_ = fork();
    if (child_ == 0) {
        dup2(ends[1], STDOUT_FILENO);
        if (std::freopen("/dev/null", "w", stderr) == nullptr) {
            _exit(1);
        }
        execl(program.c_str(), "waybourne", "serve", "--port", "0", "--now", "2026-03-04T09:40:00Z",
              "--journal", journal.c_str(), nullptr);
        _exit(127);
    }
    close(ends[1]);
    std::string heard;
    char letter = 0;
    while (read(ends[0], &letter, 1) == 1 && letter != '\n') {
        heard += letter;
    }
    close(ends[0]);
    const std::string before = "127.0.0.1:";
    const std::size_t at = heard.find(before);
    if (at == std::string::npos) {
        throw std::runtime_error("waybourne serve did not start");
    }
    port_ = std::stoi(heard.substr(at + before.size()));
}

Served::~Served() {
    kill(child_, SIGTERM);
    waitpid(child_, nullptr, 0);
}

double Served::resident_megabytes(const std::string& name) const {
    std::ifstream status{"/proc/" + std::to_string(child_) + "/status"};
    for (std::string line; std::getline(status, line);) {
        if (line.starts_with(name + ":")) {
            return std::stod(line.substr(name.size() + 1)) / 1024;
        }
    }
    throw std::runtime_error("no " + name);
}

JournalFolder::JournalFolder() {
    std::string pattern = (fs::temp_directory_path() / "waybourne-bench-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) {
        throw std::runtime_error("no folder for the journal");
    }
    path_ = pattern;
}

}  // namespace waybourne::bench
