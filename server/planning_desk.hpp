#pragma once
/// Where planners' long questions wait, so that nobody else does.

#include <chrono>
#include <functional>

#include "coverage/work.hpp"
#include "server/http/endpoint.hpp"
#include "server/workers.hpp"

namespace waybourne::server {

/// One question at a time, on a thread that yields to all others; the next few wait their turn,
/// more are refused. Each is stopped when its time is over. Use it from several threads.
class PlanningDesk {
public:
    /// @param most_waiting besides the one that is being worked out
    explicit PlanningDesk(std::chrono::milliseconds limit, std::size_t most_waiting = 4)
        : limit_(limit), most_waiting_(most_waiting) {}

    /// @throws Unavailable when too many wait, or the time is over; and what `work` throws
    HttpResponse run(const std::function<HttpResponse(const coverage::Work&)>& work);

private:
    std::chrono::milliseconds limit_;
    std::size_t most_waiting_;
    Workers worker_{1};
};

}  // namespace waybourne::server
