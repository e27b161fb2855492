#include "server/cli/interruptible.hpp"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <csignal>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <thread>

#include "coverage/location.hpp"

// Ctrl-C at a terminal, once, while an integer programme is at work.

namespace waybourne::server::test {

namespace {

using Clock = std::chrono::steady_clock;

/// The lines of four dimensions over three numbers, each to be met by one of its points: the
/// Steiner triples A81 of Fulkerson, Nemhauser and Trotter, Math. Programming Study 2, 1974, 72-81
/// (from memory), which branch and bound takes very long over. 61 points are needed, since 20 is
/// the most points without a line (cap sets; from memory).
coverage::LocationModel steiner_triples() {
    constexpr std::uint32_t points = 81;
    const auto third = [](std::uint32_t a, std::uint32_t b) {
        std::uint32_t c = 0;
        for (std::uint32_t place = 1; place < points; place *= 3) {
            c += place * ((6 - a / place % 3 - b / place % 3) % 3);
        }
        return c;
    };
    coverage::LocationModel model;
    model.options.resize(points);
    model.serves.resize(points);
    for (std::uint32_t a = 0; a < points; ++a) {
        for (std::uint32_t b = a + 1; b < points; ++b) {
            const std::uint32_t c = third(a, b);
            if (c > b) {
                const auto line = static_cast<std::uint32_t>(model.births.size());
                model.births.push_back(1);
                for (const std::uint32_t point : {a, b, c}) {
                    model.serves[point].push_back({line, 1});
                }
            }
        }
    }
    return model;
}

constexpr const char* programme = "(in a process of its own) an integer programme";
constexpr const char* waiting = "(in a process of its own) work that looks for a stop";

/// One of the skipped cases below in a process of its own: this program once more, since a copy of
/// a process with threads may not start any (the thread sanitizer refuses it).
class OwnProcess {
public:
    explicit OwnProcess(const char* test_case) {
        std::array<int, 2> ends{};
        if (pipe2(ends.data(), O_CLOEXEC) != 0) {
            throw std::runtime_error("no pipe");
        }
        const std::string filter = std::string{"--test-case="} + test_case;
        child_ = fork();
        if (child_ == 0) {
            dup2(ends[1], STDOUT_FILENO);
            execl("/proc/self/exe", "server_test", filter.c_str(), "--no-skip", nullptr);
            _exit(127);
        }
        close(ends[1]);
        output_ = ends[0];
    }
    ~OwnProcess() {
        if (!status_) {
            kill(child_, SIGKILL);
            waitpid(child_, nullptr, 0);
        }
        close(output_);
    }
    OwnProcess(const OwnProcess&) = delete;
    OwnProcess& operator=(const OwnProcess&) = delete;

    /// Whether it said this; waits until it did or ended.
    bool says(std::string_view word) {
        std::array<char, 1024> block{};
        while (heard_.find(word) == std::string::npos) {
            const ssize_t count = read(output_, block.data(), block.size());
            if (count <= 0) {
                return false;
            }
            heard_.append(block.data(), static_cast<std::size_t>(count));
        }
        return true;
    }

    void press_ctrl_c() const { kill(child_, SIGINT); }

    /// How it ended, if it did within so long.
    std::optional<int> ended_within(std::chrono::milliseconds most) {
        const auto last = Clock::now() + most;
        int status = 0;
        while (!status_ && Clock::now() < last) {
            if (waitpid(child_, &status, WNOHANG) == child_) {
                status_ = status;
            }
            std::this_thread::sleep_for(10ms);
        }
        return status_;
    }

private:
    pid_t child_ = -1;
    int output_ = -1;
    std::string heard_;
    std::optional<int> status_;
};

/// Past the buffer of the stream, which a signal would lose.
void say(std::string_view word) {
    [[maybe_unused]] const auto written = write(STDOUT_FILENO, word.data(), word.size());
}

}  // namespace

TEST_CASE("The first Ctrl-C ends an integer programme within about a second") {
    OwnProcess child{programme};
    REQUIRE(child.says("at work"));
    // and would be for long
    CHECK_FALSE(child.ended_within(2000ms).has_value());
    child.press_ctrl_c();
    const auto status = child.ended_within(3000ms);
    REQUIRE(status.has_value());
    CHECK(WIFSIGNALED(*status));
    CHECK(WTERMSIG(*status) == SIGINT);
}

TEST_CASE(programme* doctest::skip()) {
    const coverage::LocationModel model = steiner_triples();
    REQUIRE(model.births.size() == 1080);
    const Interruptible watched;
    say("at work");
    coverage::cheapest_full_cover(model, nullptr, 120s);
}

TEST_CASE("Work that looks for a stop is told of it, tidies up, and ends as by the signal") {
    OwnProcess child{waiting};
    REQUIRE(child.says("at work"));
    child.press_ctrl_c();
    CHECK(child.says("tidy"));
    const auto status = child.ended_within(3000ms);
    REQUIRE(status.has_value());
    CHECK(WIFSIGNALED(*status));
    CHECK(WTERMSIG(*status) == SIGINT);
}

TEST_CASE(waiting* doctest::skip()) {
    const Interruptible watched;
    const coverage::Work work{{}, watched.token()};
    say("at work");
    try {
        while (true) {
            work.at("waiting", -1);
            std::this_thread::sleep_for(1ms);
        }
    } catch (const Unavailable&) {
        say("tidy");
    }
}

TEST_CASE("Without Ctrl-C nothing is noticed of it, and the mask is as it was") {
    sigset_t before;
    pthread_sigmask(SIG_SETMASK, nullptr, &before);
    {
        const Interruptible watched;
        CHECK_FALSE(watched.token().stop_requested());
    }
    sigset_t after;
    pthread_sigmask(SIG_SETMASK, nullptr, &after);
    CHECK(sigismember(&after, SIGINT) == sigismember(&before, SIGINT));
}

}  // namespace waybourne::server::test
