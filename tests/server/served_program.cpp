#include "tests/server/served_program.hpp"

#include <fcntl.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <stdexcept>

#include "tests/server/served_sample.hpp"

namespace waybourne::server::test {

namespace {

/// After `fork`, so without a word to the heap.
[[noreturn]] void become_server(char* const* arguments, int output) {
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    dup2(output, STDOUT_FILENO);
    const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    dup2(nowhere, STDERR_FILENO);
    execv(WAYBOURNE_PROGRAM, arguments);
    _exit(127);
}

}  // namespace

ServedProgram::ServedProgram(const std::vector<std::string>& options) {
    std::array<int, 2> ends{};
    if (pipe2(ends.data(), O_CLOEXEC) != 0) {
        throw std::runtime_error("no pipe");
    }
    std::vector<std::string> words{"waybourne", "serve", "--port", "0", "--now", sample_now};
    words.insert(words.end(), options.begin(), options.end());
    std::vector<char*> arguments;
    for (std::string& word : words) {
        arguments.push_back(word.data());
    }
    arguments.push_back(nullptr);
    process_ = fork();
    if (process_ == 0) {
        become_server(arguments.data(), ends[1]);
    }
    close(ends[1]);
    output_ = ends[0];
    const std::string before = "http://127.0.0.1:";
    std::string heard;
    std::array<char, 1024> block{};
    while (heard.find('\n') == std::string::npos) {
        const ssize_t count = read(output_, block.data(), block.size());
        if (count <= 0) {
            throw std::runtime_error("waybourne serve ended at once");
        }
        heard.append(block.data(), static_cast<std::size_t>(count));
    }
    first_line_ = heard.substr(0, heard.find('\n'));
    port_ = std::stoi(first_line_.substr(first_line_.find(before) + before.size()));
}

ServedProgram::~ServedProgram() {
    kill(process_, SIGTERM);
    waitpid(process_, nullptr, 0);
    close(output_);
}

}  // namespace waybourne::server::test
