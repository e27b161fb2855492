#pragma once
/// The way of one trip, for people and for a map.

#include <optional>
#include <string>
#include <vector>

#include "routing/travel_time.hpp"
#include "vocabulary/geo_point.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::routing {

enum class Means : std::uint8_t { on_foot, motorcycle, car, four_wheel_drive, boat, ferry };

std::string to_name(Means means);

/// A stretch along one road. An unnamed road has an empty name and its class, e.g. `track`.
struct Stretch {
    std::string road;
    std::string road_class;
    Metres distance;
    Seconds typical{};
    bool operator==(const Stretch&) const = default;
};

/// A part of the way with one means of transport.
struct Leg {
    Means means = Means::car;
    std::vector<Stretch> stretches;
    TravelTime travel_time;
    Metres distance;
    /// Waiting before this leg starts (a ferry, a road that is not open yet), counted in
    /// `travel_time` too.
    Seconds wait{};
    std::vector<GeoPoint> line;
    /// Taken as an assumption rather than read from the map, e.g. walking off the road.
    bool is_assumed = false;
    bool operator==(const Leg&) const = default;
};

/// `travel_time` is that of the whole way, waiting included; its `allow` is not the sum of the
/// legs' (spreads do not add).
struct Route {
    std::vector<Leg> legs;
    TravelTime travel_time;
    Metres distance;
    std::vector<GeoPoint> line() const;
    bool operator==(const Route&) const = default;
};

}  // namespace waybourne::routing
