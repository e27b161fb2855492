#include "server/json/route.hpp"

#include <fmt/format.h>

#include <cmath>

#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::int64_t whole_metres(Metres distance) {
    return std::llround(distance.value());
}

std::string road_name(const routing::Stretch& stretch) {
    return stretch.road.empty() ? stretch.road_class : stretch.road;
}

void write_positions(JsonWriter& json, const std::vector<GeoPoint>& line) {
    json.begin_list();
    for (const GeoPoint& point : line) {
        json.value(point);
    }
    if (line.size() == 1) {
        json.value(line.front());
    }
    json.end_list();
}

/// `geo:0.1234567,6.1234567` (RFC 5870): a place as one text.
std::string geo_uri(const GeoPoint& point) {
    return fmt::format("geo:{:.7f},{:.7f}", point.latitude().degrees, point.longitude().degrees);
}

/// Road by road, a name standing once while it stays the same.
std::vector<std::string> road_names(const routing::Leg& leg) {
    std::vector<std::string> names;
    for (const routing::Stretch& stretch : leg.stretches) {
        std::string name = road_name(stretch);
        if (!name.empty() && (names.empty() || names.back() != name)) {
            names.push_back(std::move(name));
        }
    }
    return names;
}

void write_way(JsonWriter& json, const routing::Route& route) {
    json.key("travel_time_s");
    write_travel_time(json, route.travel_time);
    json.member("distance_m", whole_metres(route.distance)).key("legs");
    write_legs(json, route);
    json.key("geometry");
    write_line(json, route.line());
}

void write_when(JsonWriter& json, Instant leave_at, const routing::RoadConditions& conditions) {
    json.member("leave_at", leave_at).key("road_conditions");
    write_road_conditions(json, conditions);
}

void write_stretches(JsonWriter& json, const routing::Leg& leg) {
    json.key("stretches").begin_list();
    for (const routing::Stretch& stretch : leg.stretches) {
        json.begin_object().member("road", stretch.road).member("class", stretch.road_class);
        json.member("distance_m", whole_metres(stretch.distance));
        json.member("typical_s", stretch.typical).end_object();
    }
    json.end_list();
}

}  // namespace

void write_travel_time(JsonWriter& json, const routing::TravelTime& time) {
    json.begin_object().member("typical", time.typical).member("allow", time.allow).end_object();
}

std::optional<GeoPoint> find_position(const JsonValue& value) {
    if (value.kind() != JsonKind::list || value.items().size() < 2 ||
        value.items()[0].kind() != JsonKind::number ||
        value.items()[1].kind() != JsonKind::number) {
        return std::nullopt;
    }
    try {
        return GeoPoint{Latitude{value.items()[1].number()}, Longitude{value.items()[0].number()}};
    } catch (const InputError&) {
        return std::nullopt;
    }
}

void write_line(JsonWriter& json, const std::vector<GeoPoint>& line) {
    json.begin_object().member("type", "LineString").key("coordinates");
    write_positions(json, line);
    json.end_object();
}

void write_legs(JsonWriter& json, const routing::Route& route) {
    json.begin_list();
    for (const routing::Leg& leg : route.legs) {
        json.begin_object().member("means", to_name(leg.means));
        json.member("from", leg.line.empty() ? "" : geo_uri(leg.line.front()));
        json.member("to", leg.line.empty() ? "" : geo_uri(leg.line.back()));
        json.key("travel_time_s");
        write_travel_time(json, leg.travel_time);
        json.member("distance_m", whole_metres(leg.distance)).member("wait_s", leg.wait);
        json.member("assumed", leg.is_assumed).member("roads", road_names(leg));
        write_stretches(json, leg);
        json.end_object();
    }
    json.end_list();
}

void write_road_conditions(JsonWriter& json, const routing::RoadConditions& conditions) {
    json.begin_object();
    json.member("surface", conditions.surface == routing::Surface::wet ? "wet" : "dry");
    json.member("light", conditions.light == routing::Light::night ? "night" : "day");
    json.end_object();
}

void write_route_answer(JsonWriter& json, const RouteAnswer& answer) {
    json.begin_object();
    write_when(json, answer.leave_at, answer.road_conditions);
    json.key("route");
    if (answer.route) {
        json.begin_object();
        write_way(json, *answer.route);
        json.end_object();
    } else {
        json.null();
    }
    json.end_object();
}

void write_alternatives_answer(JsonWriter& json, const AlternativesAnswer& answer) {
    constexpr int share_decimals = 3;
    json.begin_object();
    write_when(json, answer.leave_at, answer.road_conditions);
    json.key("routes").begin_list();
    for (const routing::Alternative& way : answer.ways) {
        json.begin_object();
        write_way(json, way.route);
        json.key("times_the_best").value(way.stretch, share_decimals);
        json.key("in_common").value(way.shared, share_decimals).end_object();
    }
    json.end_list().end_object();
}

void write_reach_answer(JsonWriter& json, const ReachAnswer& answer, const Snapshot& snapshot) {
    json.begin_object();
    write_when(json, answer.leave_at, answer.road_conditions);
    json.member("waiting", to_name(answer.waiting));
    json.key("facilities").begin_list();
    for (const ReachAnswer::Facility& inside : answer.facilities) {
        json.begin_object().member("facility", inside.facility);
        json.member("name", snapshot.facilities.facility(inside.facility).name);
        json.key("travel_time_s");
        write_travel_time(json, inside.travel_time);
        json.end_object();
    }
    json.end_list().member("road_length_m", whole_metres(answer.road_length));
    json.key("geometry").begin_object().member("type", "MultiLineString");
    json.key("coordinates").begin_list();
    for (const std::vector<GeoPoint>& line : answer.lines) {
        write_positions(json, line);
    }
    json.end_list().end_object().end_object();
}

}  // namespace waybourne::server
