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

/// Where threads wait for each other, again and again. Waits awake for a moment, since to be woken
/// takes longer than what the other threads mostly still have to do: `std::barrier` made the levels
/// near the root of a hierarchy as slow on two threads as on one.
class MeetingPoint {
public:
    /// @param threads usable ones
    explicit MeetingPoint(unsigned threads) : threads_(threads) {}

    /// Until every thread has come.
    void arrive_and_wait() {
        const std::uint32_t round = round_.load(std::memory_order_acquire);
        if (arrived_.fetch_add(1, std::memory_order_acq_rel) + 1 == threads_) {
            arrived_.store(0, std::memory_order_relaxed);
            round_.store(round + 1, std::memory_order_release);
#ifdef __cpp_lib_jthread
            round_.notify_all();
#endif
            return;
        }
        wait_while(round);
    }

private:
    void wait_while(std::uint32_t round) {
        constexpr int looks = 4'000;  // some tens of microseconds
        for (int look = 0; look < looks; ++look) {
            if (round_.load(std::memory_order_acquire) != round) {
                return;
            }
#ifdef __x86_64__
            __builtin_ia32_pause();
#endif
        }
#ifdef __cpp_lib_jthread
        while (round_.load(std::memory_order_acquire) == round) {
            round_.wait(round, std::memory_order_acquire);
        }
#endif
    }

    const unsigned threads_;
    std::atomic<std::uint32_t> arrived_{0};
    std::atomic<std::uint32_t> round_{0};
};

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
