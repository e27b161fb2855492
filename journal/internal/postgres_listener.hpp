#pragma once
/// Hears of new events on other servers.

#include <functional>
#include <mutex>
#include <thread>

#include "journal/internal/postgres_connection.hpp"

namespace waybourne::journal::internal {

/// A thread with a connection of its own, from the first `start` on. After a lost connection it
/// asks for the head, so that nothing is missed. Thread-safe.
class PostgresListener {
public:
    /// @param tell called on the listener's thread with the last sequence
    PostgresListener(const PostgresAddress& address, std::function<void(Sequence)> tell)
        : address_(address), tell_(std::move(tell)) {}

    void start();

private:
    void listen(const std::stop_token& stop);

    const PostgresAddress& address_;
    std::function<void(Sequence)> tell_;
    std::once_flag started_;
    std::jthread thread_;
};

}  // namespace waybourne::journal::internal
