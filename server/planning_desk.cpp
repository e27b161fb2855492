#include "server/planning_desk.hpp"

#include <sys/resource.h>

#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// Linux gives each thread a priority of its own; this one's work can always wait.
void yield_to_others() {
    constexpr int nice = 10;
    setpriority(PRIO_PROCESS, 0, nice);  // where it fails, it is merely less polite
}

}  // namespace

HttpResponse PlanningDesk::run(const std::function<HttpResponse(const coverage::Work&)>& work) {
    if (worker_.waiting() >= most_waiting_) {
        throw Unavailable("other plans are being worked out; try again in a minute");
    }
    return worker_.run([&] {
        yield_to_others();
        const auto until = std::chrono::steady_clock::now() + limit_;
        coverage::Work bounded;
        bounded.progress = [until](std::string_view /*doing*/, double /*share*/) {
            if (std::chrono::steady_clock::now() >= until) {
                throw Unavailable(
                    "the question takes too long here; ask it at a terminal (waybourne coverage)");
            }
        };
        return work(bounded);
    });
}

}  // namespace waybourne::server
