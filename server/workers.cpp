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
    std::packaged_task<HttpResponse()> task{std::move(work)};
    std::future<HttpResponse> result = task.get_future();
    {
        const std::lock_guard lock{mutex_};
        waiting_.push_back(std::move(task));
    }
    has_work_.notify_one();
    return result.get();
}

std::size_t Workers::waiting() const {
    const std::lock_guard lock{mutex_};
    return waiting_.size();
}

void Workers::serve() {
    while (true) {
        std::packaged_task<HttpResponse()> task;
        {
            std::unique_lock lock{mutex_};
            has_work_.wait(lock, [this] { return is_stopping_ || !waiting_.empty(); });
            if (waiting_.empty()) {
                return;
            }
            task = std::move(waiting_.front());
            waiting_.pop_front();
        }
        task();
    }
}

std::function<HttpResponse(const HttpRequest&)> worked_out_by(
    Workers& workers, std::function<HttpResponse(const HttpRequest&)> handle) {
    return [&workers, handle = std::move(handle)](const HttpRequest& request) {
        return workers.run([&] { return handle(request); });
    };
}

}  // namespace waybourne::server
