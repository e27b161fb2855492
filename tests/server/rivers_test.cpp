#include "server/json/rivers.hpp"

#include <doctest/doctest.h>

#include "vocabulary/error.hpp"

// GeoJSON: RFC 7946.

namespace waybourne::server::test {

namespace {

using routing::River;

std::string collection_of(const std::string& features) {
    return R"({"type": "FeatureCollection", "features": [)" + features + "]}";
}

std::string line_of(const std::string& coordinates) {
    return collection_of(
        R"({"type": "Feature", "properties": {"name": "Ishuvel"}, "geometry": {"type": "LineString", "coordinates": )" +
        coordinates + "}}");
}

/// Where the first error is.
std::string pointer_of_error(const std::string& json) {
    try {
        parse_rivers(json);
        return "none";
    } catch (const InputError& error) {
        return error.fields().empty() ? "the whole" : error.fields().front().pointer;
    }
}

}  // namespace

TEST_CASE("Rivers are written as GeoJSON and read again, with their source") {
    const std::vector<River> rivers{{"Ishuvel", {{10000000, 20000001}, {-900000000, -1800000000}}},
                                    {"", {{1, 2}, {3, 4}, {5, 6}}}};
    const std::string json = rivers_to_geojson(rivers);
    CHECK(parse_rivers(json) == rivers);
    CHECK(json.find("OpenStreetMap contributors") != std::string::npos);
    // a longitude first (RFC 7946, section 3.1.1)
    CHECK(json.find("[2.0000001,1]") != std::string::npos);
    CHECK(parse_rivers(rivers_to_geojson({})).empty());
}

TEST_CASE("A height is passed over, and a name is not needed") {
    CHECK(parse_rivers(line_of("[[1, 2, 300], [3, 4]]")) ==
          std::vector<River>{{"Ishuvel", {{20000000, 10000000}, {40000000, 30000000}}}});
    CHECK(parse_rivers(collection_of(R"({"type": "Feature", "id": 7, "properties": null,
              "geometry": {"type": "LineString", "coordinates": [[1, 2], [3, 4]]}})"))
              .front()
              .name.empty());
}

TEST_CASE("What is no river is refused, with its place") {
    CHECK(pointer_of_error("") == "#");
    CHECK(pointer_of_error("[]") == "#");
    CHECK(pointer_of_error(R"({"type": "Feature", "features": []})") == "#/type");
    CHECK(pointer_of_error(R"({"type": "FeatureCollection"})") == "#/features");
    CHECK(pointer_of_error(collection_of("7")) == "#/features/0");
    CHECK(pointer_of_error(line_of("[[1, 2]]")) == "#/features/0/geometry/coordinates");
    CHECK(pointer_of_error(line_of("[[1, 2], [3]]")) == "#/features/0/geometry/coordinates/1");
    CHECK(pointer_of_error(line_of("[[1, 91], [3, 4]]")) == "#/features/0/geometry/coordinates/0");
    CHECK(pointer_of_error(line_of("[[181, 1], [3, 4]]")) == "#/features/0/geometry/coordinates/0");
    CHECK(pointer_of_error(line_of("[[1, \"2\"], [3, 4]]")) ==
          "#/features/0/geometry/coordinates/0");
    CHECK(pointer_of_error(collection_of(R"({"type": "Feature", "properties": {}, "geometry":
              {"type": "Polygon", "coordinates": [[1, 2], [3, 4]]}})")) ==
          "#/features/0/geometry/type");
}

}  // namespace waybourne::server::test
