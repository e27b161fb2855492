#pragma once
/// Connections waiting for a thread.

#include <httplib.h>

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

namespace waybourne::server {

/// Connections waiting for one of a fixed number of threads, with a limit on how many wait.
class ConnectionQueue final : public httplib::TaskQueue {
public:
    ConnectionQueue(std::size_t threads, std::atomic<std::size_t>& waiting) : waiting_(waiting) {
        for (std::size_t i = 0; i < threads; ++i) {
            threads_.emplace_back([this] { work(); });
        }
    }

    void enqueue(std::function<void()> task) override {
        {
            const std::lock_guard lock{mutex_};
            tasks_.push_back(std::move(task));
            count_waiting();
        }
        changed_.notify_one();
    }

    /// Lets everything that has been accepted finish.
    void shutdown() override {
        {
            const std::lock_guard lock{mutex_};
            is_closing_ = true;
        }
        changed_.notify_all();
        for (std::thread& thread : threads_) {
            thread.join();
        }
    }

private:
    /// Those for whom no thread is free: a task that a free thread is about to take waits for
    /// nobody.
    void count_waiting() { waiting_ = tasks_.size() - std::min(tasks_.size(), free_); }

    void work() {
        for (;;) {
            std::unique_lock lock{mutex_};
            ++free_;
            changed_.wait(lock, [this] { return is_closing_ || !tasks_.empty(); });
            --free_;
            if (tasks_.empty()) {
                return;
            }
            const auto task = std::move(tasks_.front());
            tasks_.pop_front();
            count_waiting();
            lock.unlock();
            task();
        }
    }

    std::atomic<std::size_t>& waiting_;
    std::mutex mutex_;
    std::condition_variable changed_;
    std::deque<std::function<void()>> tasks_;
    std::size_t free_ = 0;  ///< threads without a connection
    bool is_closing_ = false;
    std::vector<std::thread> threads_;
};

}  // namespace waybourne::server
