#pragma once
/// The one value that everybody reads and a writer replaces.

#include <memory>
#include <mutex>
#include <utility>

namespace waybourne::server {

/// A reader takes the value once per request and keeps it as long as it likes. A writer builds
/// the next version aside and publishes it whole; nobody ever sees a half-made one.
template <typename T>
class Current {
public:
    explicit Current(std::shared_ptr<const T> first) : value_(std::move(first)) {}
    std::shared_ptr<const T> get() const {
        const std::lock_guard lock{mutex_};
        return value_;
    }
    /// The old version dies with its last reader, outside the lock.
    void publish(std::shared_ptr<const T> next) {
        const std::lock_guard lock{mutex_};
        value_.swap(next);
    }

private:
    mutable std::mutex mutex_;
    std::shared_ptr<const T> value_;
};

}  // namespace waybourne::server
