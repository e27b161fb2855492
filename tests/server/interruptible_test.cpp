#include "server/cli/interruptible.hpp"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <optional>
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

/// How the child ended, if it did within so long.
std::optional<int> ended_within(pid_t child, std::chrono::milliseconds most) {
    const auto last = Clock::now() + most;
    int status = 0;
    while (Clock::now() < last) {
        if (waitpid(child, &status, WNOHANG) == child) {
            return status;
        }
        std::this_thread::sleep_for(10ms);
    }
    return std::nullopt;
}

}  // namespace

TEST_CASE("The first Ctrl-C ends an integer programme within about a second") {
    const coverage::LocationModel model = steiner_triples();
    REQUIRE(model.births.size() == 1080);
    const pid_t child = fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        const Interruptible watched;
        coverage::cheapest_full_cover(model, nullptr, 120s);
        _exit(0);
    }
    // it is at work, and would be for long
    CHECK_FALSE(ended_within(child, 2000ms).has_value());
    kill(child, SIGINT);
    const auto status = ended_within(child, 3000ms);
    if (!status) {
        kill(child, SIGKILL);
        waitpid(child, nullptr, 0);
    }
    REQUIRE(status.has_value());
    CHECK(WIFSIGNALED(*status));
    CHECK(WTERMSIG(*status) == SIGINT);
}

TEST_CASE("Work that looks for a stop is told of it, tidies up, and ends as by the signal") {
    int pipes[2] = {};  // NOLINT(modernize-avoid-c-arrays): pipe(2)
    REQUIRE(pipe(static_cast<int*>(pipes)) == 0);
    const pid_t child = fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        {
            const Interruptible watched;
            const coverage::Work work{{}, watched.token()};
            try {
                while (true) {
                    work.at("waiting", -1);
                    std::this_thread::sleep_for(1ms);
                }
            } catch (const Unavailable&) {
                [[maybe_unused]] const auto written = write(pipes[1], "tidy", 4);
            }
        }
        _exit(0);
    }
    std::this_thread::sleep_for(200ms);
    kill(child, SIGINT);
    const auto status = ended_within(child, 3000ms);
    REQUIRE(status.has_value());
    CHECK(WIFSIGNALED(*status));
    CHECK(WTERMSIG(*status) == SIGINT);
    char told[4] = {};  // NOLINT(modernize-avoid-c-arrays): read(2)
    close(pipes[1]);
    CHECK(read(pipes[0], static_cast<char*>(told), sizeof told) == 4);
    close(pipes[0]);
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
