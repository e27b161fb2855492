#pragma once
/// A clock that starts at a moment of our choosing, for trying things out.

#include <chrono>

#include "vocabulary/time.hpp"

namespace waybourne::server {

/// Shows `start` when it is made and runs on from there, however the machine's clock is set
/// meanwhile.
class ClockFrom final : public Clock {
public:
    explicit ClockFrom(Instant start) : start_(start) {}
    Instant now() const override {
        return start_ +
               std::chrono::duration_cast<Seconds>(std::chrono::steady_clock::now() - began_);
    }

private:
    Instant start_;
    std::chrono::steady_clock::time_point began_ = std::chrono::steady_clock::now();
};

}  // namespace waybourne::server
