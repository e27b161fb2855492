#pragma once
/// The threads that work answers out.

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <exception>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

#include "server/http/endpoint.hpp"

namespace waybourne::server {

/// As many threads as there are processors, which take what is to be computed in the order in which
/// it came. Each connection has a thread of its own, which only waits meanwhile: if those computed,
/// they would share the processors in slices, and some answers would take several times as long as
/// others that came later. For work that only computes; what waits for a disk or a client would
/// keep the others waiting. Use it from several threads.
class Workers {
public:
    /// @param count at least 1
    explicit Workers(std::size_t count);
    /// Ends what was begun; nobody may be waiting any more.
    ~Workers();
    Workers(const Workers&) = delete;
    Workers& operator=(const Workers&) = delete;

    /// What `work` returns or throws; blocks until then.
    HttpResponse run(std::function<HttpResponse()> work);
    /// How many wait for a worker now.
    std::size_t waiting() const;

private:
    /// Lives with the one who waits for it.
    struct Task {
        std::function<HttpResponse()> work;
        HttpResponse result = {};
        std::exception_ptr error = nullptr;
        bool is_done = false;
        std::condition_variable done = {};
    };
    void serve();

    mutable std::mutex mutex_;
    std::condition_variable has_work_;
    std::deque<Task*> waiting_;
    bool is_stopping_ = false;
    std::vector<std::thread> threads_;
};

/// `handle`, worked out by `workers`, which must outlive it.
std::function<HttpResponse(const HttpRequest&)> worked_out_by(
    Workers& workers, std::function<HttpResponse(const HttpRequest&)> handle);

}  // namespace waybourne::server
