#pragma once
/// Jobs on a few threads.

#include <atomic>
#include <cstdint>
#include <thread>
#include <vector>

namespace waybourne::routing {

#ifdef __cpp_lib_jthread
inline constexpr bool has_threads = true;
using Thread = std::jthread;
#else
// A phone's browser gives one thread, and its standard library none to start.
inline constexpr bool has_threads = false;
struct Thread {
    template <typename Work>
    explicit Thread(const Work& /*work*/) {}
};
#endif

/// As many as are wanted, or one where there are no others.
inline unsigned usable_threads(unsigned wanted) {
    return has_threads ? wanted : 1;
}

/// Runs `work(thread)` once on each of `threads` threads, the caller's among them, and waits for
/// all.
/// @param threads usable ones
template <typename Work>
void on_threads(unsigned threads, const Work& work) {
    std::vector<Thread> others;
    for (unsigned i = 1; i < threads; ++i) {
        others.emplace_back([&work, i] { work(i); });
    }
    work(0U);
}

/// Runs `job(i, thread)` for every i below `count`, each once, on `threads` threads.
template <typename Job>
void run_jobs(std::uint32_t count, unsigned threads, const Job& job) {
    std::atomic<std::uint32_t> next{0};
    on_threads(usable_threads(threads), [&](unsigned thread) {
        for (std::uint32_t i = next++; i < count; i = next++) {
            job(i, thread);
        }
    });
}

}  // namespace waybourne::routing
