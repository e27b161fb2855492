#include "server/json/map.hpp"

namespace waybourne::server {

namespace {

void write_corner(JsonWriter& json, const char* name, routing::FixedPoint point) {
    constexpr double units_in_degree = 1e7;
    constexpr int decimals = 7;
    json.key(name).begin_object();
    json.key("latitude").value(point.latitude / units_in_degree, decimals);
    json.key("longitude").value(point.longitude / units_in_degree, decimals).end_object();
}

}  // namespace

void write_map_about(JsonWriter& json, const std::optional<MapBounds>& bounds,
                     const std::string& tiles) {
    json.begin_object().key("bounds");
    if (bounds) {
        json.begin_object();
        write_corner(json, "south_west", bounds->low);
        write_corner(json, "north_east", bounds->high);
        json.end_object();
    } else {
        json.null();
    }
    json.key("zooms").begin_object().member("from", std::int64_t{least_zoom});
    json.member("to", std::int64_t{most_zoom}).end_object();
    json.key("tiles");
    json.value(tiles.empty() ? std::nullopt : std::optional(tiles)).end_object();
}

void write_map_lines(JsonWriter& json, const MapSquare& square, const std::vector<MapLine>& lines) {
    json.begin_object().member("zoom", std::int64_t{square.zoom});
    json.member("x", std::int64_t{square.x}).member("y", std::int64_t{square.y});
    json.member("units", static_cast<std::int64_t>(square_units));
    json.key("lines").begin_list();
    for (const MapLine& line : lines) {
        json.begin_object().member("class", line.line_class);
        json.member("name", line.name).key("points").begin_list();
        SquarePoint before;
        for (const SquarePoint& point : line.points) {
            json.value(std::int64_t{point.x - before.x}).value(std::int64_t{point.y - before.y});
            before = point;
        }
        json.end_list().end_object();
    }
    json.end_list().end_object();
}

}  // namespace waybourne::server
