#include "routing/careful_router.hpp"

#include <algorithm>
#include <numeric>

#include "routing/internal/soonest_ready.hpp"

namespace waybourne::routing {

namespace {

using Times = std::vector<std::optional<TravelTime>>;
using Then = ChangingRoads::Then;

bool is_open(const Metric& metric, const Access& access) {
    const RoadNetwork& network = metric.network();
    bool is_any_open = false;
    each_version(network, access.piece, [&](PieceId piece) {
        is_any_open = is_any_open || metric.is_open(network.piece(piece));
    });
    return is_any_open;
}

bool is_usable(const Then& then, const Snap& snap) {
    check_snap(then.metric.network(), snap);
    return std::all_of(snap.accesses.begin(), snap.accesses.end(),
                       [&](const Access& access) { return is_open(then.metric, access); });
}

/// The same place on the roads that are open then; without access where there are none near.
Snap on_open_roads(const Then& then, const Snap& snap) {
    return is_usable(then, snap) ? snap : then.index.snap(snap.point, then.metric).value_or(Snap{});
}

bool are_usable(const Then& then, std::span<const Snap> snaps) {
    return std::all_of(snaps.begin(), snaps.end(),
                       [&](const Snap& snap) { return is_usable(then, snap); });
}

std::vector<Snap> on_open_roads(const Then& then, std::span<const Snap> snaps) {
    std::vector<Snap> open;
    open.reserve(snaps.size());
    for (const Snap& snap : snaps) {
        open.push_back(on_open_roads(then, snap));
    }
    return open;
}

Times times_then(const Then& then, const Departure& departure, std::span<const Snap> targets,
                 Seconds limit) {
    const Departure leaves{on_open_roads(then, departure.from), departure.at};
    if (leaves.from.accesses.empty()) {
        return Times(targets.size());
    }
    return are_usable(then, targets)
               ? then.router.travel_times(leaves, targets, limit)
               : then.router.travel_times(leaves, on_open_roads(then, targets), limit);
}

std::vector<Snap> some_of(std::span<const Snap> targets, const std::vector<std::size_t>& numbers) {
    std::vector<Snap> some;
    some.reserve(numbers.size());
    for (const std::size_t number : numbers) {
        some.push_back(targets[number]);
    }
    return some;
}

}  // namespace

Times CarefulRouter::travel_times(const Departure& departure, std::span<const Snap> targets,
                                  Seconds limit) {
    Times times;
    roads_.ask(departure.at, departure.at,
               [&](const Then& then) { times = times_then(then, departure, targets, limit); });
    std::vector<std::size_t> under_way(targets.size());
    std::iota(under_way.begin(), under_way.end(), std::size_t{0});
    for (auto turn = roads_.next_turn(departure.at, departure.at); turn;
         turn = roads_.next_turn(departure.at, *turn)) {
        std::erase_if(under_way, [&](std::size_t target) {
            return !times[target] || departure.at + times[target]->allow <= *turn;
        });
        if (under_way.empty()) {
            break;
        }
        Times later;
        roads_.ask(departure.at, *turn, [&](const Then& then) {
            later = times_then(then, departure, some_of(targets, under_way), limit);
        });
        for (std::size_t index = 0; index < under_way.size(); ++index) {
            times[under_way[index]] = later[index];
        }
    }
    return times;
}

CarefulRouter::Judged CarefulRouter::judge(const Departure& departure, const Snap& target,
                                           const RouteQuestion& question) const {
    Judged judged;
    const auto judge_until = [&](Instant until) {
        judged.until = until;
        roads_.ask(departure.at, until, [&](const Then& then) {
            const Departure leaves{on_open_roads(then, departure.from), departure.at};
            const Snap there = on_open_roads(then, target);
            judged.route = leaves.from.accesses.empty() || there.accesses.empty()
                               ? std::nullopt
                               : question(then.router, leaves, there);
        });
    };
    judge_until(departure.at);
    for (auto turn = roads_.next_turn(departure.at, departure.at);
         turn && judged.route && departure.at + judged.route->travel_time.allow > *turn;
         turn = roads_.next_turn(departure.at, *turn)) {
        judge_until(*turn);
    }
    return judged;
}

CarefulRouter::Judged CarefulRouter::judge(const Departure& departure, const Snap& target) const {
    return judge(departure, target, [](Router& router, const Departure& leaves, const Snap& there) {
        return router.route(leaves, there);
    });
}

std::optional<Route> CarefulRouter::route_around(const Departure& departure, const Snap& target,
                                                 std::span<const PieceId> avoided) {
    return judge(departure, target,
                 [&](Router& router, const Departure& leaves, const Snap& there) {
                     return router.route_around(leaves, there, avoided);
                 })
        .route;
}

std::vector<Nearest> CarefulRouter::nearest(const Departure& departure,
                                            std::span<const Snap> targets, std::size_t count,
                                            Seconds limit, const ReadyAfter& ready_after) {
    const Times times = travel_times(departure, targets, limit);
    std::vector<std::size_t> reached;
    for (std::size_t target = 0; target < times.size(); ++target) {
        if (times[target]) {
            reached.push_back(target);
        }
    }
    std::stable_sort(reached.begin(), reached.end(), [&](std::size_t a, std::size_t b) {
        return times[a]->typical < times[b]->typical;
    });
    SoonestReady soonest{count, ready_after};
    for (const std::size_t target : reached) {
        if (soonest.is_settled(times[target]->typical)) {
            break;
        }
        soonest.offer(target, *times[target]);
    }
    return soonest.take();
}

}  // namespace waybourne::routing
