#include "dispatch/remembered_roads.hpp"

namespace waybourne::dispatch {

using routing::Departure;
using routing::Snap;
using routing::TravelTime;

class RememberedRoads::KeptRouter final : public routing::Router {
public:
    KeptRouter(routing::Router& router, bool departure_matters)
        : router_(router), departure_matters_(departure_matters) {}

    std::vector<std::optional<TravelTime>> travel_times(const Departure& departure,
                                                        std::span<const Snap> targets,
                                                        Seconds limit) override {
        auto& known = times_[{key(departure.from.point),
                              departure_matters_ ? departure.at : Instant{}, limit}];
        std::vector<Snap> missing;
        for (const Snap& target : targets) {
            if (known.find(key(target.point)) == known.end()) {
                missing.push_back(target);
            }
        }
        if (!missing.empty()) {
            const auto found = router_.travel_times(departure, missing, limit);
            for (std::size_t index = 0; index < missing.size(); ++index) {
                known.emplace(key(missing[index].point), found[index]);
            }
        }
        std::vector<std::optional<TravelTime>> times;
        times.reserve(targets.size());
        for (const Snap& target : targets) {
            times.push_back(known.at(key(target.point)));
        }
        return times;
    }
    std::optional<routing::Route> route(const Departure& departure, const Snap& target) override {
        return router_.route(departure, target);
    }
    std::optional<routing::Route> route_around(const Departure& departure, const Snap& target,
                                               std::span<const routing::PieceId> avoided) override {
        return router_.route_around(departure, target, avoided);
    }
    std::vector<routing::Nearest> nearest(const Departure& departure, std::span<const Snap> targets,
                                          std::size_t count, Seconds limit,
                                          const routing::ReadyAfter& ready_after) override {
        return router_.nearest(departure, targets, count, limit, ready_after);
    }

private:
    using Key = std::pair<double, double>;
    static Key key(const GeoPoint& point) {
        return {point.latitude().degrees, point.longitude().degrees};
    }
    struct From {
        Key point;
        Instant at;
        Seconds limit;
        auto operator<=>(const From&) const = default;
    };
    routing::Router& router_;
    bool departure_matters_;
    std::map<From, std::map<Key, std::optional<TravelTime>>> times_;
};

RememberedRoads::RememberedRoads(DistrictRoads& roads, Keeps keeps)
    : roads_(roads), keeps_(keeps) {}
RememberedRoads::~RememberedRoads() = default;

RoadsOf RememberedRoads::roads(routing::Means means, Instant departs) {
    RoadsOf roads = roads_.roads(means, departs);
    const bool departure_matters = roads.has_turns || !roads.metric || roads.metric->has_waits();
    if (departure_matters && keeps_ == Keeps::what_never_changes) {
        return roads;
    }
    auto& kept = routers_[{roads.router, departure_matters}];
    if (!kept) {
        kept = std::make_unique<KeptRouter>(*roads.router, departure_matters);
    }
    roads.router = kept.get();
    return roads;
}

std::shared_ptr<const routing::SweptMetric> RememberedRoads::swept(routing::Means means,
                                                                   Instant departs) {
    return roads_.swept(means, departs);
}

std::optional<Snap> RememberedRoads::snap(const GeoPoint& point, routing::Means means,
                                          Instant departs) {
    const std::tuple key{roads_.roads(means, departs).router, point.latitude().degrees,
                         point.longitude().degrees};
    const auto known = snaps_.find(key);
    return known != snaps_.end()
               ? known->second
               : snaps_.emplace(key, roads_.snap(point, means, departs)).first->second;
}

std::optional<Instant> RememberedRoads::dawn_after(Instant now) {
    return roads_.dawn_after(now);
}

}  // namespace waybourne::dispatch
