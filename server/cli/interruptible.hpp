#pragma once
/// Long work at a terminal that the first Ctrl-C ends, whatever library is at work just then.

#include <atomic>
#include <csignal>
#include <stop_token>
#include <thread>

namespace waybourne::server {

/// While it lives, SIGINT comes to a thread of its own and no library's handler ever sees it: CBC
/// puts in one that only ends the programme it is at, so that a second Ctrl-C was needed. Then
/// `token` is stopped; the program ends by the signal, as others do, as soon as this has gone (so
/// that what was half done is tidied up), and a second later in any case. Make it before other
/// threads of the work, so that they inherit the mask; one at a time.
class Interruptible {
public:
    Interruptible();
    ~Interruptible();
    Interruptible(const Interruptible&) = delete;
    Interruptible& operator=(const Interruptible&) = delete;

    std::stop_token token() const { return source_.get_token(); }

private:
    void watch();

    sigset_t signals_{};
    sigset_t before_{};
    std::stop_source source_;
    std::atomic<bool> is_over_ = false;
    std::thread thread_;
};

}  // namespace waybourne::server
