#include "server/planned_roads.hpp"

#include "routing/careful_router.hpp"
#include "server/roads_ahead.hpp"

namespace waybourne::server {

/// The roads of one moment of departure. A router here takes one of those that may search at once
/// for each question and gives it back, so that a planning, which needs several kinds, never holds
/// more than one.
struct PlannedRoads::Kind {
    Kind(const Snapshot& snapshot, const Roads& roads, const WayKind& kind, Roads::State at_first)
        : ahead(snapshot, roads, kind.means, std::nullopt, kind.conditions),
          router(ahead),
          state(std::move(at_first)) {}

    /// Whoever leaves at night by `allow` and by day typically is judged by night.
    RoadsAhead ahead;
    routing::CarefulRouter router;
    Roads::State state;
};

PlannedRoads::PlannedRoads(const Snapshot& snapshot) : snapshot_(snapshot) {}
PlannedRoads::~PlannedRoads() = default;

dispatch::RoadsOf PlannedRoads::roads(routing::Means means, Instant departs) {
    Kind& kind = kind_of(means, departs);
    // a rendezvous on the way is looked for in one network alone
    const bool is_road = &roads_for(means) == snapshot_.roads.get();
    return {&kind.router, is_road ? kind.state.metric() : nullptr, kind.state.facility_snaps(),
            kind.ahead.next_turn(departs, departs).has_value()};
}

std::shared_ptr<const routing::SweptMetric> PlannedRoads::swept(routing::Means means,
                                                                Instant departs) {
    return kind_of(means, departs).state.swept();
}

std::optional<routing::Snap> PlannedRoads::snap(const GeoPoint& point, routing::Means means,
                                                Instant departs) {
    return kind_of(means, departs).state.snap(point);
}

std::optional<Instant> PlannedRoads::dawn_after(Instant now) {
    const auto is_light = [&](Instant at) {
        return expected_conditions(snapshot_.district, snapshot_.zone, at).light ==
               routing::Light::day;
    };
    for (Instant at = now; !is_light(now) && at < now + 24h; at += 1min) {
        if (is_light(at)) {
            return at;
        }
    }
    return std::nullopt;
}

const Roads& PlannedRoads::roads_for(routing::Means means) const {
    return means == routing::Means::boat && snapshot_.boat_ways ? *snapshot_.boat_ways
                                                                : *snapshot_.roads;
}

PlannedRoads::Kind& PlannedRoads::kind_of(routing::Means means, Instant departs) {
    const WayKind wanted{means, expected_conditions(snapshot_.district, snapshot_.zone, departs)};
    const Roads& roads = roads_for(means);
    Roads::State state = roads.state(wanted, departs);
    for (Kind& known : kinds_) {
        if (known.state.metric() == state.metric()) {
            return known;
        }
    }
    return kinds_.emplace_back(snapshot_, roads, wanted, std::move(state));
}

}  // namespace waybourne::server
