#include "server/json/boat_ways.hpp"

#include <doctest/doctest.h>

#include <set>

#include "vocabulary/error.hpp"

namespace waybourne::server::test {

namespace {

const std::string two_landings =
    R"({"id": "a", "name": "Upper landing", "latitude": 1, "longitude": 2},
                                    {"id": "b", "latitude": -1.5, "longitude": 2.25})";

std::string file_of(const std::string& landings, const std::string& ways) {
    return R"({"landings": [)" + landings + R"(], "ways": [)" + ways + "]}";
}

/// All errors, by their places.
std::set<std::string> pointers_of_errors(const std::string& json) {
    std::set<std::string> pointers;
    try {
        parse_boat_ways(json, "Etc/UTC");
    } catch (const InputError& error) {
        for (const FieldError& field : error.fields()) {
            pointers.insert(field.pointer);
        }
        if (pointers.empty()) {
            pointers.insert("the whole");
        }
    }
    return pointers;
}

std::set<std::string> errors_in_way(const std::string& way) {
    return pointers_of_errors(file_of(two_landings, way));
}

}  // namespace

TEST_CASE("Landings and the ways between them are read, with what is left out filled in") {
    const routing::BoatWays boats =
        parse_boat_ways(file_of(two_landings, R"({"from": "a", "to": "b", "minutes": 20},
            {"from": "b", "to": "a", "minutes": 30, "minutes_back": 25, "hours": "06:00-18:00",
             "when_wet": false, "name": "Back arm", "through": [{"latitude": 0, "longitude": 2.1}]})"),
                        "Etc/UTC");
    REQUIRE(boats.landings.size() == 2);
    CHECK(boats.landings[0] ==
          routing::Landing{"Upper landing", GeoPoint{Latitude{1}, Longitude{2}}});
    CHECK(boats.landings[1].name == "b");
    REQUIRE(boats.ways.size() == 2);
    CHECK(boats.ways[0].from == 0);
    CHECK(boats.ways[0].to == 1);
    CHECK(boats.ways[0].there == 20min);
    CHECK(boats.ways[0].back == 20min);
    CHECK_FALSE(boats.ways[0].hours.has_value());
    CHECK(boats.ways[0].is_open_when_wet);
    CHECK(boats.ways[0].name == "Upper landing – b");
    CHECK(boats.ways[1].back == 25min);
    CHECK(boats.ways[1].hours == routing::parse_timetable("06:00-18:00", "Etc/UTC").timetable);
    CHECK_FALSE(boats.ways[1].is_open_when_wet);
    CHECK(boats.ways[1].name == "Back arm");
    CHECK(boats.ways[1].through.size() == 1);
}

TEST_CASE("Everything wrong is said at once, each with its place") {
    CHECK(pointers_of_errors("") == std::set<std::string>{"#"});
    CHECK(pointers_of_errors("{}") == std::set<std::string>{"#/landings", "#/ways"});
    CHECK(pointers_of_errors(file_of("", "")) == std::set<std::string>{"#/landings"});
    CHECK(pointers_of_errors(file_of(R"({"id": "a", "latitude": 91, "longitude": 0},
                                        {"id": "a", "latitude": 0})",
                                     "")) == std::set<std::string>{"#/landings/0/latitude",
                                                                   "#/landings/1/id",
                                                                   "#/landings/1/longitude"});
    CHECK(errors_in_way(R"({"from": "a", "to": "b", "minutes": 20})").empty());
    CHECK(errors_in_way(R"({"from": "a", "to": "c", "minutes": 0})") ==
          std::set<std::string>{"#/ways/0/to", "#/ways/0/minutes"});
    CHECK(errors_in_way(R"({"from": "a", "to": "a", "minutes": 5})") ==
          std::set<std::string>{"#/ways/0/to"});
    CHECK(errors_in_way(R"({"from": "a", "to": "b", "minutes": 5, "hours": "at noon"})") ==
          std::set<std::string>{"#/ways/0/hours"});
    CHECK(errors_in_way(R"({"from": "a", "to": "b", "minutes": 1441, "minutes_back": 1.5})") ==
          std::set<std::string>{"#/ways/0/minutes", "#/ways/0/minutes_back"});
    CHECK(errors_in_way(R"({"from": "a", "to": "b", "minutes": 5, "wet": true})") ==
          std::set<std::string>{"#/ways/0/wet"});
    CHECK(errors_in_way(R"({"from": "a", "to": "b", "minutes": 5, "through": [[1, 2]]})") ==
          std::set<std::string>{"#/ways/0/through/0"});
}

TEST_CASE("A landing that is misspelt is answered with the nearest that exists") {
    try {
        parse_boat_ways(file_of(R"({"id": "uvrissa", "latitude": 0, "longitude": 0})",
                                R"({"from": "uvrisa", "to": "uvrissa", "minutes": 5})"),
                        "Etc/UTC");
        FAIL("it was taken");
    } catch (const InputError& error) {
        REQUIRE(error.fields().size() == 1);
        CHECK(error.fields().front().detail.find("did you mean \"uvrissa\"?") != std::string::npos);
    }
}

}  // namespace waybourne::server::test
