#include "server/json/route.hpp"

#include <fmt/format.h>

#include <cmath>

namespace waybourne::server {

namespace {

constexpr int coordinate_decimals = 7;

std::int64_t whole_metres(Metres distance) {
    return std::llround(distance.value());
}

std::string road_name(const routing::Stretch& stretch) {
    return stretch.road.empty() ? stretch.road_class : stretch.road;
}

void write_position(JsonWriter& json, const GeoPoint& point) {
    json.begin_list().value(point.longitude().degrees, coordinate_decimals);
    json.value(point.latitude().degrees, coordinate_decimals).end_list();
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

void write_line(JsonWriter& json, const std::vector<GeoPoint>& line) {
    json.begin_object().member("type", "LineString").key("coordinates").begin_list();
    for (const GeoPoint& point : line) {
        write_position(json, point);
    }
    if (line.size() == 1) {
        write_position(json, line.front());
    }
    json.end_list().end_object();
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
    json.begin_object().member("leave_at", answer.leave_at).key("road_conditions");
    write_road_conditions(json, answer.road_conditions);
    json.key("route");
    if (answer.route) {
        json.begin_object().key("travel_time_s");
        write_travel_time(json, answer.route->travel_time);
        json.member("distance_m", whole_metres(answer.route->distance)).key("legs");
        write_legs(json, *answer.route);
        json.key("geometry");
        write_line(json, answer.route->line());
        json.end_object();
    } else {
        json.null();
    }
    json.end_object();
}

}  // namespace waybourne::server
