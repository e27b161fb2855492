#pragma once
/// The targets that are ready soonest, as a search finds them one by one.

#include <algorithm>
#include <vector>

#include "routing/router.hpp"

namespace waybourne::routing {

/// Holds the `count` soonest by readiness, then by number. Targets are to be offered in the order
/// of their typical travel time; `is_settled` says when no later one can matter.
class SoonestReady {
public:
    SoonestReady(std::size_t count, const ReadyAfter& ready_after)
        : count_(count), ready_after_(&ready_after) {}

    void offer(std::size_t target, const TravelTime& travel_time) {
        if (count_ == 0) {
            return;
        }
        const auto ready = (*ready_after_)(target, travel_time);
        if (!ready) {
            return;
        }
        const Nearest one{target, travel_time, std::max(*ready, travel_time.typical)};
        if (is_full()) {
            if (!is_sooner(one, found_.back())) {
                return;
            }
            found_.pop_back();
        }
        found_.insert(std::upper_bound(found_.begin(), found_.end(), one, is_sooner), one);
    }

    /// Whether no target that takes `next` or longer to reach can be among them.
    bool is_settled(Seconds next) const {
        return count_ == 0 || (is_full() && found_.back().ready < next);
    }

    std::vector<Nearest> take() { return std::move(found_); }

private:
    bool is_full() const { return found_.size() == count_; }
    static bool is_sooner(const Nearest& a, const Nearest& b) {
        return a.ready != b.ready ? a.ready < b.ready : a.target < b.target;
    }

    std::size_t count_;
    const ReadyAfter* ready_after_;
    std::vector<Nearest> found_;
};

}  // namespace waybourne::routing
