#include "server/security/limits.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace waybourne::server {

using std::chrono::seconds;

double RateLimiter::level(const Bucket* bucket, TimePoint now) const {
    if (bucket == nullptr) {
        return rate_.burst;
    }
    const double passed = std::chrono::duration<double>(now - bucket->at).count();
    return std::min(rate_.burst, bucket->level + std::max(0.0, passed) * rate_.per_second);
}

seconds RateLimiter::wait(double level) const {
    if (level >= 1) {
        return seconds{0};
    }
    return std::max(seconds{1}, seconds{std::lround(std::ceil((1 - level) / rate_.per_second))});
}

seconds RateLimiter::take(const std::string& name, TimePoint now) {
    const std::lock_guard lock{mutex_};
    const auto found = buckets_.find(name);
    const double held = level(found == buckets_.end() ? nullptr : &found->second, now);
    const seconds needed = wait(held);
    if (needed.count() > 0) {
        return needed;
    }
    if (found == buckets_.end() && buckets_.size() >= most_names) {
        forget_some(now);
    }
    buckets_[name] = {held - 1, now};
    return seconds{0};
}

seconds RateLimiter::wait_for(const std::string& name, TimePoint now) const {
    const std::lock_guard lock{mutex_};
    const auto found = buckets_.find(name);
    return wait(level(found == buckets_.end() ? nullptr : &found->second, now));
}

/// Those that are full first; when that is not a quarter, those who asked longest ago.
void RateLimiter::forget_some(TimePoint now) {
    std::erase_if(buckets_,
                  [&](const auto& one) { return level(&one.second, now) >= rate_.burst; });
    if (buckets_.size() <= most_names / 4 * 3) {
        return;
    }
    std::vector<TimePoint> times;
    times.reserve(buckets_.size());
    for (const auto& [name, bucket] : buckets_) {
        times.push_back(bucket.at);
    }
    const auto quarter = times.begin() + static_cast<std::ptrdiff_t>(times.size() / 4);
    std::nth_element(times.begin(), quarter, times.end());
    std::erase_if(buckets_, [&](const auto& one) { return one.second.at <= *quarter; });
}

std::shared_ptr<void> Concurrency::enter(const std::string& name) {
    const std::lock_guard lock{state_->mutex};
    std::size_t& count = state_->under_way[name];
    if (count >= most_) {
        return nullptr;
    }
    ++count;
    const auto leave = [state = state_, name](void* /*unused*/) {
        const std::lock_guard inner{state->mutex};
        if (--state->under_way[name] == 0) {
            state->under_way.erase(name);
        }
    };
    return {state_.get(), leave};
}

std::shared_ptr<void> Seats::sit() {
    std::unique_lock lock{mutex_};
    if (free_ == 0) {
        if (waiting_ >= queue_) {
            return nullptr;
        }
        ++waiting_;
        const bool is_free = changed_.wait_for(lock, patience_, [this] { return free_ > 0; });
        --waiting_;
        if (!is_free) {
            return nullptr;
        }
    }
    --free_;
    return {this, [this](void* /*unused*/) {
                {
                    const std::lock_guard inner{mutex_};
                    ++free_;
                }
                changed_.notify_one();
            }};
}

}  // namespace waybourne::server
