#pragma once
/// Ways as JSON: legs, distances and a GeoJSON line.

#include <optional>
#include <string>

#include "routing/route.hpp"
#include "server/json/value.hpp"
#include "server/json/writer.hpp"
#include "server/ways.hpp"

namespace waybourne::server {

/// `{"typical": s, "allow": s}`
void write_travel_time(JsonWriter& json, const routing::TravelTime& time);

void write_legs(JsonWriter& json, const routing::Route& route);

/// A GeoJSON LineString (RFC 7946), seven decimals: about a centimetre. A way of no length has two
/// equal points, since a LineString needs two.
void write_line(JsonWriter& json, const std::vector<GeoPoint>& line);

/// A GeoJSON position, `[longitude, latitude]`; none when it is something else or not on the earth.
std::optional<GeoPoint> find_position(const JsonValue& value);

/// `{"surface": "wet", "light": "night"}`
void write_road_conditions(JsonWriter& json, const routing::RoadConditions& conditions);

/// The answer of `POST /v1/routes`; `route` is null where there is no way.
void write_route_answer(JsonWriter& json, const RouteAnswer& answer);

/// The answer of `POST /v1/alternatives`.
void write_alternatives_answer(JsonWriter& json, const AlternativesAnswer& answer);

/// The answer of `POST /v1/reach`.
void write_reach_answer(JsonWriter& json, const ReachAnswer& answer, const Snapshot& snapshot);

}  // namespace waybourne::server
