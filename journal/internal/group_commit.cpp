#include "journal/internal/group_commit.hpp"

namespace waybourne::journal::internal {

namespace {

// A batch ends where the next request would pass these: what is lost by a failing disk stays small.
constexpr std::size_t max_batch_requests = 1024;
constexpr std::size_t max_batch_bytes = 8 << 20;

std::size_t bytes_of(const Append& append) {
    std::size_t bytes = 0;
    for (const Entry& entry : append.entries) {
        bytes += entry.body.size();
    }
    return bytes;
}

}  // namespace

Appended GroupCommit::run(const Append& append) {
    Request mine{&append};
    std::unique_lock lock{mutex_};
    queue_.push_back(&mine);
    mine.ready.wait(lock, [&] { return mine.is_done || queue_.front() == &mine; });
    if (!mine.is_done) {
        lead(lock);
    }
    if (mine.error) {
        std::rethrow_exception(mine.error);
    }
    return mine.result;
}

void GroupCommit::lead(std::unique_lock<std::mutex>& lock) {
    std::vector<Request*> batch;
    std::size_t bytes = 0;
    for (Request* request : queue_) {
        bytes += bytes_of(*request->append);
        if (!batch.empty() && (bytes > max_batch_bytes || batch.size() == max_batch_requests)) {
            break;
        }
        batch.push_back(request);
    }
    lock.unlock();
    try {
        const std::lock_guard writing{writer_};
        commit_(batch);
    } catch (...) {
        for (Request* request : batch) {
            request->error = std::current_exception();
        }
    }
    lock.lock();
    for (Request* request : batch) {
        queue_.pop_front();
        request->is_done = true;
        request->ready.notify_one();
    }
    if (!queue_.empty()) {
        queue_.front()->ready.notify_one();
    }
}

}  // namespace waybourne::journal::internal
