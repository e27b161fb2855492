#pragma once
/// Where boats land and how long they take from one landing to the next: a small network beside
/// the roads, since no road map says where people go by boat.

#include <optional>
#include <string>
#include <vector>

#include "routing/ferry.hpp"
#include "routing/road_network.hpp"
#include "vocabulary/geo_point.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::routing {

/// Where people get on and off.
struct Landing {
    std::string name;
    GeoPoint point{Latitude{0}, Longitude{0}};
    bool operator==(const Landing&) const = default;
};

/// A stretch of water that boats travel, as those who know it say.
struct BoatWay {
    /// Two different places in `BoatWays::landings`.
    std::size_t from = 0;
    std::size_t to = 0;
    /// Shown to people.
    std::string name;
    /// More than zero, at most a day: up a river takes longer than down.
    Seconds there{};
    Seconds back{};
    /// When a boat may set out; none: day and night.
    std::optional<Timetable> hours = {};
    bool is_open_when_wet = true;
    /// Strictly between the landings, for the drawn line.
    std::vector<GeoPoint> through = {};
    bool operator==(const BoatWay&) const = default;
};

struct BoatWays {
    std::vector<Landing> landings;
    std::vector<BoatWay> ways;
    bool operator==(const BoatWays&) const = default;
};

/// Every way as two ferries of this network that take boats alone, one there and one back, each
/// waiting for its hours; and every landing as a landing stage, a path of no length, so that places
/// near it get onto the water there and nowhere else. A route takes one leg per way.
/// @throws InputError for a way that takes no time or longer than a week, or names no landing
RoadNetwork network_of(const BoatWays& boats);

}  // namespace waybourne::routing
