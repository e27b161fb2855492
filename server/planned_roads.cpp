#include "server/planned_roads.hpp"

namespace waybourne::server {

/// Takes one of the routers that may search at once for each question and gives it back, so that a
/// planning, which needs several kinds, never holds more than one.
class PlannedRoads::LentRouter final : public routing::Router {
public:
    LentRouter(const Roads& roads, const WayKind& kind, Instant at)
        : roads_(roads), kind_(kind), at_(at) {}

    std::vector<std::optional<routing::TravelTime>> travel_times(
        const routing::Departure& departure, std::span<const routing::Snap> targets,
        Seconds limit) override {
        return roads_.lend(kind_, at_).router().travel_times(departure, targets, limit);
    }
    std::optional<routing::Route> route(const routing::Departure& departure,
                                        const routing::Snap& target) override {
        return roads_.lend(kind_, at_).router().route(departure, target);
    }
    std::optional<routing::Route> route_around(const routing::Departure& departure,
                                               const routing::Snap& target,
                                               std::span<const routing::PieceId> avoided) override {
        return roads_.lend(kind_, at_).router().route_around(departure, target, avoided);
    }
    std::vector<routing::Nearest> nearest(const routing::Departure& departure,
                                          std::span<const routing::Snap> targets, std::size_t count,
                                          Seconds limit,
                                          const routing::ReadyAfter& ready_after) override {
        return roads_.lend(kind_, at_)
            .router()
            .nearest(departure, targets, count, limit, ready_after);
    }

private:
    const Roads& roads_;
    WayKind kind_;
    Instant at_;
};

struct PlannedRoads::Kind {
    WayKind kind;
    LentRouter router;
    std::shared_ptr<const routing::Metric> metric;
    std::vector<std::optional<routing::Snap>> facility_snaps;
};

PlannedRoads::PlannedRoads(const Snapshot& snapshot, Instant now)
    : snapshot_(snapshot), now_(now) {}
PlannedRoads::~PlannedRoads() = default;

dispatch::RoadsOf PlannedRoads::roads(routing::Means means, Instant departs) {
    Kind& kind = kind_of(means, departs);
    return {&kind.router, kind.metric, kind.facility_snaps};
}

std::shared_ptr<const routing::SweptMetric> PlannedRoads::swept(routing::Means means,
                                                                Instant departs) {
    return roads_for(means).lend(kind_of(means, departs).kind, now_).swept();
}

std::optional<routing::Snap> PlannedRoads::snap(const GeoPoint& point, routing::Means means,
                                                Instant departs) {
    return roads_for(means).lend(kind_of(means, departs).kind, now_).snap(point);
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
    for (Kind& known : kinds_) {
        if (known.kind == wanted) {
            return known;
        }
    }
    const Roads& roads = roads_for(means);
    const Roads::Lease lease = roads.lend(wanted, now_);
    // a rendezvous on the way is looked for in one network alone
    kinds_.push_back({wanted, LentRouter(roads, wanted, now_),
                      &roads == snapshot_.roads.get() ? lease.metric() : nullptr,
                      lease.facility_snaps()});
    return kinds_.back();
}

}  // namespace waybourne::server
