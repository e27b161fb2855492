#include "server/named_place.hpp"

#include <doctest/doctest.h>

#include "tests/server/recorded_sample.hpp"

// Names over the telephone. The places are those of maps-sample/; slips are counted by hand beside
// each name (Damerau's edit distance, vocabulary/nearest_name.hpp).

namespace waybourne::server::test {

namespace {

std::vector<LikelyPlace> like(const std::string& written) {
    return places_like(*sample_snapshot(), written, 8);
}

}  // namespace

TEST_CASE("A misspelt name finds the place that was meant first") {
    for (const char* written : {"Kezhiru", "kezhiru", "Kezhirru", "Kehziru", "kezhiru clinic"}) {
        CAPTURE(written);
        const auto found = like(written);
        REQUIRE_FALSE(found.empty());
        CHECK(found[0].name.starts_with("Kezhiru"));
    }
    CHECK(like("Kezhiru clinic")[0].id == "kezhiru-clinic");
    CHECK(like("Kezhiru clinic")[0].slips == 0);
    CHECK(like("Kezhirru")[0].slips == 1);  // r twice
    CHECK(like("Kehziru")[0].slips == 1);   // two neighbours swapped
}

TEST_CASE("A village is found too, with the facility that is nearest as the crow flies") {
    const auto all = like("Ebruzai");  // Ebruzhai without its h
    REQUIRE_FALSE(all.empty());
    CHECK(all[0].name == "Ebruzhai");
    CHECK_FALSE(all[0].is_facility);
    const auto snapshot = sample_snapshot();
    const GeoPoint& nearest = snapshot->facilities.facility(all[0].facility).point;
    for (const facilities::Facility& other : snapshot->facilities.facilities()) {
        CHECK(great_circle_distance(all[0].point, nearest) <=
              great_circle_distance(all[0].point, other.point));
    }
}

TEST_CASE("What is like nothing finds nothing, and one letter more than a third is too many") {
    CHECK(like("qqqqqqqqqqqq").empty());
    for (const LikelyPlace& place : like("Kxzhxru")) {  // two of seven letters: allowed
        CHECK(place.slips <= 2);
    }
    for (const LikelyPlace& place : like("Kxzxxru")) {  // three of seven: not Kezhiru
        CHECK_FALSE(place.name.starts_with("Kezhiru"));
    }
}

TEST_CASE("The name that was heard stands in no address, and nonsense is refused") {
    const RecordedSample sample;
    const Reply reply = sample.send("POST", "/v1/named-places", R"({"name": "Kezheru clinic"})");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue body = parse_json(reply.body);
    CHECK(text_at(at(body, "places").items().at(0), "facility") == "kezhiru-clinic");
    CHECK(sample.send("POST", "/v1/named-places", R"({"name": ""})").status == 400);
    CHECK(sample.send("POST", "/v1/named-places", R"({"nam": "x"})").status == 400);
    CHECK(sample.send("POST", "/v1/named-places", "{}").status == 400);
}

}  // namespace waybourne::server::test
