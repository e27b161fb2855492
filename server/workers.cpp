#include "server/workers.hpp"

#include <utility>

namespace waybourne::server {

Workers::Workers(std::size_t count) {
    threads_.reserve(count);
    for (std::size_t i = 0; i < count; ++i) {
        threads_.emplace_back([this] { serve(); });
    }
}

Workers::~Workers() {
    {
        const std::lock_guard lock{mutex_};
        is_stopping_ = true;
    }
    has_work_.notify_all();
    for (std::thread& thread : threads_) {
        thread.join();
    }
}

HttpResponse Workers::run(std::function<HttpResponse()> work) {
    Task task{std::move(work)};
    std::unique_lock lock{mutex_};
    waiting_.push_back(&task);
    has_work_.notify_one();
    task.done.wait(lock, [&task] { return task.is_done; });
    if (task.error != nullptr) {
        std::rethrow_exception(task.error);
    }
    return std::move(task.result);
}

std::size_t Workers::waiting() const {
    const std::lock_guard lock{mutex_};
    return waiting_.size();
}

void Workers::serve() {
    std::unique_lock lock{mutex_};
    while (true) {
        has_work_.wait(lock, [this] { return is_stopping_ || !waiting_.empty(); });
        if (waiting_.empty()) {
            return;
        }
        Task& task = *waiting_.front();
        waiting_.pop_front();
        lock.unlock();
        try {
            task.result = task.work();
        } catch (...) {
            task.error = std::current_exception();
        }
        lock.lock();  // from here on nothing of the task, nor of what it threw, is ours
        task.is_done = true;
        task.done.notify_one();
    }
}

std::function<HttpResponse(const HttpRequest&)> worked_out_by(
    Workers& workers, std::function<HttpResponse(const HttpRequest&)> handle) {
    return [&workers, handle = std::move(handle)](const HttpRequest& request) {
        return workers.run([&] { return handle(request); });
    };
}

}  // namespace waybourne::server
