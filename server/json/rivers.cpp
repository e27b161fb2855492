#include "server/json/rivers.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "server/json/object_reader.hpp"
#include "server/json/writer.hpp"

namespace waybourne::server {

namespace {

constexpr const char* about_the_file =
    "Rivers to be drawn, made from OpenStreetMap data, © OpenStreetMap contributors, Open Database "
    "License.";

/// More than any country has.
constexpr std::size_t most_rivers = 2'000'000;
constexpr std::size_t most_positions = 1'000'000;

using Errors = std::vector<FieldError>;

/// None: an error was added.
std::optional<routing::FixedPoint> parse_position(const JsonValue& value,
                                                  const std::string& pointer, Errors& errors) {
    // A height may follow (RFC 7946, section 3.1.1); it is not drawn.
    constexpr std::size_t most_numbers = 3;
    std::array<double, 2> degrees{};
    constexpr std::array<double, 2> limits{180, 90};
    bool is_good = value.kind() == JsonKind::list && value.items().size() >= degrees.size() &&
                   value.items().size() <= most_numbers;
    for (std::size_t i = 0; is_good && i < degrees.size(); ++i) {
        const JsonValue& one = value.items()[i];
        is_good = one.kind() == JsonKind::number && std::abs(one.number()) <= limits.at(i);
        degrees.at(i) = is_good ? one.number() : 0;
    }
    if (!is_good) {
        errors.push_back({pointer, "is no position: a longitude and a latitude in degrees"});
        return std::nullopt;
    }
    return routing::to_fixed(GeoPoint{Latitude{degrees[1]}, Longitude{degrees[0]}});
}

routing::River parse_river(const JsonValue& value, const std::string& pointer, Errors& errors) {
    static const std::vector<std::string> feature{"Feature"};
    static const std::vector<std::string> line_string{"LineString"};
    routing::River river;
    ObjectReader reader{value, pointer, errors};
    reader.require("type");
    reader.choice("type", feature);
    reader.take("id");
    reader.require("geometry");
    if (const JsonValue* properties = reader.take("properties")) {
        ObjectReader about{*properties, pointer + "/properties", errors};
        river.name = about.text("name").value_or("");
        about.finish();
    }
    if (const JsonValue* geometry = reader.take("geometry")) {
        const std::string place = pointer + "/geometry";
        ObjectReader line{*geometry, place, errors};
        line.require("type");
        line.choice("type", line_string);
        line.require("coordinates");
        const auto* positions = line.list("coordinates", most_positions);
        for (std::size_t i = 0; positions != nullptr && i < positions->size(); ++i) {
            if (const auto position = parse_position(
                    (*positions)[i], fmt::format("{}/coordinates/{}", place, i), errors)) {
                river.line.push_back(*position);
            }
        }
        if (positions != nullptr && positions->size() < 2) {
            line.refuse("coordinates", "a line has two positions or more");
        }
        line.finish();
    }
    reader.finish();
    return river;
}

}  // namespace

std::string rivers_to_geojson(std::span<const routing::River> rivers) {
    JsonWriter json;
    json.begin_object().member("type", "FeatureCollection");
    json.member("description", about_the_file).key("features").begin_list();
    for (const routing::River& river : rivers) {
        json.begin_object().member("type", "Feature");
        json.key("properties").begin_object().member("name", river.name).end_object();
        json.key("geometry").begin_object().member("type", "LineString");
        json.key("coordinates").begin_list();
        for (const routing::FixedPoint point : river.line) {
            json.value(routing::to_geo_point(point));
        }
        json.end_list().end_object().end_object();
    }
    return json.end_list().end_object().take() + "\n";
}

std::vector<routing::River> parse_rivers(std::string_view json) {
    static const std::vector<std::string> collection{"FeatureCollection"};
    return parse_body(json, [](ObjectReader& body, Errors& errors) {
        std::vector<routing::River> rivers;
        body.require("type");
        body.choice("type", collection);
        body.text("description");
        body.require("features");
        if (const auto* features = body.list("features", most_rivers)) {
            for (std::size_t i = 0; i < features->size(); ++i) {
                rivers.push_back(
                    parse_river((*features)[i], fmt::format("#/features/{}", i), errors));
            }
        }
        return rivers;
    });
}

}  // namespace waybourne::server
