#include "server/cli/interruptible.hpp"

#include <chrono>

namespace waybourne::server {

namespace {

constexpr std::chrono::milliseconds look_again{20};
/// For the work to notice and to tidy up (ours, no source).
constexpr std::chrono::milliseconds grace{800};

/// As if nobody had ever caught it: whoever started the program sees what ended it.
void end_by_signal(const sigset_t& signals) {
    std::signal(SIGINT, SIG_DFL);
    pthread_sigmask(SIG_UNBLOCK, &signals, nullptr);
    std::raise(SIGINT);
}

}  // namespace

Interruptible::Interruptible() {
    sigemptyset(&signals_);
    sigaddset(&signals_, SIGINT);
    pthread_sigmask(SIG_BLOCK, &signals_, &before_);
    thread_ = std::thread{[this] { watch(); }};
}

Interruptible::~Interruptible() {
    is_over_ = true;
    thread_.join();
    if (source_.stop_requested()) {
        end_by_signal(signals_);
    }
    pthread_sigmask(SIG_SETMASK, &before_, nullptr);
}

void Interruptible::watch() {
    const timespec wait{0, std::chrono::nanoseconds{look_again}.count()};
    while (!is_over_) {
        if (sigtimedwait(&signals_, nullptr, &wait) != SIGINT) {
            continue;
        }
        source_.request_stop();
        const auto last = std::chrono::steady_clock::now() + grace;
        while (!is_over_ && std::chrono::steady_clock::now() < last) {
            std::this_thread::sleep_for(look_again);
        }
        if (!is_over_) {
            end_by_signal(signals_);
        }
    }
}

}  // namespace waybourne::server
