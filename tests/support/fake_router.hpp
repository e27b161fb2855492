#pragma once
/// A router that reads its answers from a table of minutes, for tests of what is chosen rather than
/// of ways.

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "routing/router.hpp"

namespace waybourne {

/// One way of the table.
struct FakeWay {
    Seconds typical{};
    Seconds allow{};
    /// A boat that leaves at whole multiples of this since 1970; the wait for it comes on top.
    Seconds leaves_every{};
    Metres distance{1000};

    Seconds wait(Instant departs) const {
        if (leaves_every <= Seconds{0}) {
            return Seconds{0};
        }
        const Seconds since = departs.time_since_epoch() % leaves_every;
        return since > Seconds{0} ? leaves_every - since : Seconds{0};
    }
};

/// Places are told apart by their point, to a ten-thousandth of a degree.
class FakeRouter final : public routing::Router {
public:
    void set_way(const GeoPoint& from, const GeoPoint& to, const FakeWay& way) {
        ways_[{key(from), key(to)}] = way;
    }
    void remove_way(const GeoPoint& from, const GeoPoint& to) { ways_.erase({key(from), key(to)}); }
    /// How many one-to-many searches were asked for.
    int searches() const { return searches_; }

    std::vector<std::optional<routing::TravelTime>> travel_times(
        const routing::Departure& departure, std::span<const routing::Snap> targets,
        Seconds limit) override {
        ++searches_;
        std::vector<std::optional<routing::TravelTime>> times;
        for (const routing::Snap& target : targets) {
            times.push_back(travel_time(departure, target, limit));
        }
        return times;
    }

    std::optional<routing::Route> route(const routing::Departure& departure,
                                        const routing::Snap& target) override {
        const auto time = travel_time(departure, target, Seconds::max());
        if (!time) {
            return std::nullopt;
        }
        const FakeWay& way = ways_.at({key(departure.from.point), key(target.point)});
        routing::Route route;
        route.travel_time = *time;
        route.distance = way.distance;
        routing::Leg leg;
        leg.travel_time = *time;
        leg.distance = way.distance;
        leg.line = {departure.from.point, target.point};
        route.legs.push_back(leg);
        if (way.leaves_every > Seconds{0}) {
            leg.means = routing::Means::ferry;
            leg.wait = way.wait(departure.at);
            route.legs.push_back(leg);
        }
        return route;
    }

    /// The table knows no roads: whatever is to be avoided, there is no other way.
    std::optional<routing::Route> route_around(const routing::Departure& departure,
                                               const routing::Snap& target,
                                               std::span<const routing::PieceId> avoided) override {
        return avoided.empty() ? route(departure, target) : std::nullopt;
    }

    std::vector<routing::Nearest> nearest(const routing::Departure& departure,
                                          std::span<const routing::Snap> targets, std::size_t count,
                                          Seconds limit,
                                          const routing::ReadyAfter& ready_after) override {
        std::vector<routing::Nearest> found;
        for (std::size_t index = 0; index < targets.size(); ++index) {
            const auto time = travel_time(departure, targets[index], limit);
            const auto ready = time ? ready_after(index, *time) : std::nullopt;
            if (ready) {
                found.push_back({index, *time, std::max(*ready, time->typical)});
            }
        }
        std::stable_sort(found.begin(), found.end(),
                         [](const auto& a, const auto& b) { return a.ready < b.ready; });
        found.resize(std::min(found.size(), count));
        return found;
    }

private:
    using Key = std::pair<long, long>;
    static Key key(const GeoPoint& point) {
        return {std::lround(point.latitude().degrees * 1e4),
                std::lround(point.longitude().degrees * 1e4)};
    }
    std::optional<routing::TravelTime> travel_time(const routing::Departure& departure,
                                                   const routing::Snap& target,
                                                   Seconds limit) const {
        const auto way = ways_.find({key(departure.from.point), key(target.point)});
        if (way == ways_.end()) {
            return std::nullopt;
        }
        const Seconds wait = way->second.wait(departure.at);
        if (way->second.typical + wait > limit) {
            return std::nullopt;
        }
        return routing::TravelTime{way->second.typical + wait, way->second.allow + wait};
    }

    std::map<std::pair<Key, Key>, FakeWay> ways_;
    int searches_ = 0;
};

}  // namespace waybourne
