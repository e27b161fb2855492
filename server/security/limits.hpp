#pragma once
/// How much one may ask: rates, and how many at once.

#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <map>
#include <memory>
#include <mutex>
#include <string>

namespace waybourne::server {

/// So many for ever, and so many at once after a rest.
struct Rate {
    double per_second = 10;
    double burst = 30;
};

/// One token bucket for each name: a bucket holds at most `burst` and fills by `per_second`. At
/// most `most_names` are held; whoever asked longest ago is forgotten, which is to say full again.
/// May be used from several threads.
class RateLimiter {
public:
    using TimePoint = std::chrono::steady_clock::time_point;
    static constexpr std::size_t most_names = 16'384;

    explicit RateLimiter(Rate rate) : rate_(rate) {}

    /// Takes one. @return zero; or, with nothing taken, how long until there is one
    std::chrono::seconds take(const std::string& name, TimePoint now);
    /// The same without taking.
    std::chrono::seconds wait_for(const std::string& name, TimePoint now) const;

private:
    struct Bucket {
        double level = 0;
        TimePoint at;
    };
    double level(const Bucket* bucket, TimePoint now) const;
    std::chrono::seconds wait(double level) const;
    void forget_some(TimePoint now);

    Rate rate_;
    mutable std::mutex mutex_;
    std::map<std::string, Bucket> buckets_;
};

/// How many of each name are under way at once.
class Concurrency {
public:
    explicit Concurrency(std::size_t most) : state_(std::make_shared<State>()), most_(most) {}
    /// Held while something is under way; null when there are too many already.
    std::shared_ptr<void> enter(const std::string& name);

private:
    struct State {
        std::mutex mutex;
        std::map<std::string, std::size_t> under_way;
    };
    std::shared_ptr<State> state_;
    std::size_t most_;
};

/// A few seats, a short queue before them.
class Seats {
public:
    Seats(std::size_t seats, std::size_t queue, std::chrono::milliseconds patience)
        : free_(seats), queue_(queue), patience_(patience) {}
    /// Held while sitting; null when the queue is full or patience ran out.
    std::shared_ptr<void> sit();

private:
    std::mutex mutex_;
    std::condition_variable changed_;
    std::size_t free_;
    std::size_t queue_;
    std::size_t waiting_ = 0;
    std::chrono::milliseconds patience_;
};

}  // namespace waybourne::server
