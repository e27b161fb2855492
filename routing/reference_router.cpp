#include "routing/reference_router.hpp"

#include <algorithm>
#include <queue>
#include <utility>

#include "routing/internal/reference_search.hpp"
#include "routing/internal/soonest_ready.hpp"

namespace waybourne::routing {

namespace {

Seconds typical(const Label& label) {
    return label.travel_time().typical;
}

}  // namespace

class ReferenceRouter::Search : public ReferenceSearch {
public:
    using ReferenceSearch::ReferenceSearch;
};

std::shared_ptr<const ReferenceGraph> make_reference_graph(const RoadNetwork& network) {
    return std::make_shared<const ReferenceGraph>(network);
}

ReferenceRouter::ReferenceRouter(std::shared_ptr<const Metric> metric,
                                 std::shared_ptr<const ReferenceGraph> graph)
    : metric_(std::move(metric)),
      graph_(graph ? std::move(graph) : make_reference_graph(metric_->network())),
      search_(std::make_unique<Search>(metric_, graph_)) {}

ReferenceRouter::~ReferenceRouter() = default;

std::vector<std::optional<TravelTime>> ReferenceRouter::travel_times(const Departure& departure,
                                                                     std::span<const Snap> targets,
                                                                     Seconds limit) {
    const std::uint32_t limit_ds = limit_in_ds(limit);
    std::vector<bool> is_reached(targets.size());
    std::size_t missing = targets.size();
    const auto improved = [&](std::size_t target, const Label& /*label*/) {
        missing -= is_reached[target] ? 0 : 1;
        is_reached[target] = true;
    };
    // Once all are reached nothing beyond the farthest of them can matter. Later improvements only
    // make that bound too generous, never wrong.
    std::optional<std::uint32_t> farthest_ds;
    const auto is_done = [&](std::uint32_t frontier_ds) {
        if (missing == 0 && !farthest_ds) {
            farthest_ds = 0;
            for (std::size_t target = 0; target < targets.size(); ++target) {
                farthest_ds = std::max(*farthest_ds, search_->label(target).typical_ds);
            }
        }
        return farthest_ds && frontier_ds > *farthest_ds;
    };
    search_->run(departure, targets, limit_ds, improved, is_done);

    std::vector<std::optional<TravelTime>> times;
    times.reserve(targets.size());
    for (std::size_t target = 0; target < targets.size(); ++target) {
        const Label& label = search_->label(target);
        times.push_back(label.is_reached() && label.typical_ds <= limit_ds
                            ? std::optional(label.travel_time())
                            : std::nullopt);
    }
    return times;
}

std::optional<Route> ReferenceRouter::route(const Departure& departure, const Snap& target) {
    const std::span<const Snap> targets(&target, 1);
    const auto improved = [](std::size_t, const Label&) {};
    const auto is_done = [&](std::uint32_t frontier_ds) {
        return frontier_ds > search_->label(0).typical_ds;
    };
    search_->run(departure, targets, closed_ds - 1, improved, is_done);
    if (!search_->label(0).is_reached()) {
        return std::nullopt;
    }
    return to_route(search_->metric(), departure, target, search_->way(departure, targets, 0));
}

std::optional<Route> ReferenceRouter::route_around(const Departure& departure, const Snap& target,
                                                   std::span<const PieceId> avoided) {
    ReferenceRouter around{std::make_shared<const Metric>(metric_->without(avoided)), graph_};
    return around.route(departure, target);
}

std::vector<Nearest> ReferenceRouter::nearest(const Departure& departure,
                                              std::span<const Snap> targets, std::size_t count,
                                              Seconds limit, const ReadyAfter& ready_after) {
    if (count == 0) {
        return {};
    }
    SoonestReady soonest{count, ready_after};
    const std::uint32_t limit_ds = limit_in_ds(limit);
    // Targets reached so far by time, then by number; an entry that was improved upon is skipped.
    using Reached = std::pair<Seconds, std::size_t>;
    std::priority_queue<Reached, std::vector<Reached>, std::greater<>> reached;
    std::vector<bool> is_decided(targets.size());
    const auto improved = [&](std::size_t target, const Label& label) {
        if (label.typical_ds <= limit_ds) {
            reached.emplace(typical(label), target);
        }
    };
    const auto take_before = [&](Seconds frontier) {
        while (!reached.empty() && reached.top().first < frontier &&
               !soonest.is_settled(reached.top().first)) {
            const std::size_t target = reached.top().second;
            reached.pop();
            if (!is_decided[target]) {
                is_decided[target] = true;
                soonest.offer(target, search_->label(target).travel_time());
            }
        }
        return soonest.is_settled(frontier);
    };
    // A target is decided only when the search has passed the whole second it lies in: by then its
    // best way is known.
    const auto is_done = [&](std::uint32_t frontier_ds) {
        return take_before(to_travel_time(frontier_ds, frontier_ds).typical);
    };
    search_->run(departure, targets, limit_ds, improved, is_done);
    take_before(Seconds::max());
    return soonest.take();
}

}  // namespace waybourne::routing
