#include <nlohmann/json.hpp>

#include "coverage/internal/rows.hpp"
#include "vocabulary/json_check.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::coverage {

namespace {

using Json = nlohmann::json;

constexpr std::size_t longest_text = 64 * std::size_t{1024} * 1024;

/// A position, or noted and none.
std::optional<GeoPoint> position_of(const Json& given, Row& row, const std::string& path) {
    const bool is_pair = given.is_array() && given.size() >= 2 && given.size() <= 3 &&
                         given[0].is_number() && given[1].is_number();
    if (!is_pair) {
        row.note(path, "is not [longitude, latitude]");
        return std::nullopt;
    }
    try {
        return GeoPoint{Latitude{given[1].get<double>()}, Longitude{given[0].get<double>()}};
    } catch (const InputError& error) {
        row.note(path, error.what());
        return std::nullopt;
    }
}

/// RFC 7946, 3.1.6: closed, four positions or more.
Area::Ring ring_of(const Json& given, Row& row, const std::string& path) {
    Area::Ring ring;
    if (!given.is_array()) {
        row.note(path, "is not a list of positions");
        return ring;
    }
    for (std::size_t i = 0; i < given.size(); ++i) {
        const auto position = position_of(given[i], row, path + "/" + std::to_string(i));
        if (!position) {
            return ring;
        }
        ring.push_back(*position);
    }
    if (ring.size() < 4) {
        row.note(path, "has " + std::to_string(ring.size()) +
                           " positions: a closed ring has four or more");
    } else if (!(ring.front() == ring.back())) {
        row.note(path, "is not closed: the last position must be the first again");
    }
    return ring;
}

Area::Polygon polygon_of(const Json& given, Row& row, const std::string& path) {
    Area::Polygon polygon;
    if (!given.is_array() || given.empty()) {
        row.note(path, "is not a list of rings");
        return polygon;
    }
    for (std::size_t i = 0; i < given.size(); ++i) {
        polygon.push_back(ring_of(given[i], row, path + "/" + std::to_string(i)));
    }
    return polygon;
}

void read_polygons(const Json& geometry, Row& row) {
    const std::string path = "geometry/coordinates";
    const Json type = geometry.value("type", Json());
    const Json coordinates = geometry.value("coordinates", Json());
    if (type == "Polygon") {
        row.polygons.push_back(polygon_of(coordinates, row, path));
    } else if (type == "MultiPolygon" && coordinates.is_array() && !coordinates.empty()) {
        for (std::size_t i = 0; i < coordinates.size(); ++i) {
            row.polygons.push_back(polygon_of(coordinates[i], row, path + "/" + std::to_string(i)));
        }
    } else {
        row.note("geometry", "a Polygon or a MultiPolygon is needed");
    }
}

void read_point(const Json& geometry, Row& row) {
    if (geometry.value("type", Json()) != "Point") {
        row.note("geometry", "a Point is needed");
        return;
    }
    const std::string path = "geometry/coordinates";
    if (const auto point = position_of(geometry.value("coordinates", Json()), row, path)) {
        row.values["latitude"] = to_figure(point->latitude().degrees);
        row.values["longitude"] = to_figure(point->longitude().degrees);
    }
}

void read_property(const std::string& name, const Json& value, const Columns& columns, Row& row) {
    const std::string path = "properties/" + shortened(name, 60);
    if (std::find(columns.known.begin(), columns.known.end(), name) == columns.known.end() ||
        name == "latitude" || name == "longitude") {
        const auto nearest = nearest_name(name, columns.known);
        row.note(path, "is not known here" +
                           (nearest ? "; did you mean '" + *nearest + "'?" : std::string()));
    } else if (value.is_string()) {
        row.values[name] = value.get<std::string>();
    } else if (value.is_number()) {
        row.values[name] = value.dump();
    } else if (!value.is_null()) {
        row.note(path, "is neither a text nor a number");
    }
}

void read_feature(const Json& feature, const Columns& columns, Geometry geometry, Row& row) {
    if (!feature.is_object() || feature.value("type", Json()) != "Feature") {
        row.note("", "is not a GeoJSON Feature");
        return;
    }
    const Json shape = feature.value("geometry", Json());
    if (!shape.is_object()) {
        row.note("geometry", "is needed");
    } else if (geometry == Geometry::point) {
        read_point(shape, row);
    } else {
        read_polygons(shape, row);
    }
    const Json properties = feature.value("properties", Json());
    if (properties.is_object()) {
        for (const auto& [name, value] : properties.items()) {
            read_property(name, value, columns, row);
        }
    }
    const Json id = feature.value("id", Json());
    if (id.is_string()) {
        row.values["id"] = id.get<std::string>();
    } else if (id.is_number_integer()) {
        row.values["id"] = id.dump();
    }
}

}  // namespace

std::vector<Row> rows_of_geojson(std::string_view text, const Columns& columns, Geometry geometry) {
    if (text.size() > longest_text) {
        throw InputError("nothing was imported: the file is larger than 64 MiB");
    }
    check_json(text);
    const Json file = Json::parse(text.begin(), text.end());
    if (!file.is_object() || file.value("type", Json()) != "FeatureCollection" ||
        !file.contains("features") || !file["features"].is_array()) {
        throw InputError("nothing was imported: this is no GeoJSON FeatureCollection",
                         {{"#/type", R"("FeatureCollection" with a list "features" is needed)"}});
    }
    std::vector<Row> rows;
    for (const Json& feature : file["features"]) {
        Row& row = rows.emplace_back("#/features/" + std::to_string(rows.size()), "/");
        read_feature(feature, columns, geometry, row);
    }
    return rows;
}

}  // namespace waybourne::coverage
