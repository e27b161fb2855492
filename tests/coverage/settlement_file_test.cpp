#include "coverage/settlement_file.hpp"

#include <doctest/doctest.h>

#include <sstream>

#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

/// Everything that is wrong, one line each.
template <typename Read>
std::string problems(const Read& read) {
    try {
        read();
    } catch (const InputError& error) {
        std::string all = error.what();
        for (const FieldError& field : error.fields()) {
            all += "\n" + field.pointer + ": " + field.detail;
        }
        return all;
    }
    return "";
}

std::string csv_problems(const std::string& text, const SettlementImport& options = {}) {
    return problems([&] { read_settlements_csv(text, options); });
}

std::string geojson(const std::string& features) {
    return R"({"type": "FeatureCollection", "features": [)" + features + "]}";
}

std::string square(const std::string& id, double west, double south, double side,
                   bool is_closed = true) {
    std::ostringstream text;
    text << R"({"type": "Feature", "id": ")" << id << R"(", "properties": {"name": ")" << id
         << R"("}, "geometry": {"type": "Polygon", "coordinates": [[[)" << west << "," << south
         << "],[" << west + side << "," << south << "],[" << west + side << "," << south + side
         << "],[" << west << "," << south + side << "]"
         << (is_closed ? ",[" + std::to_string(west) + "," + std::to_string(south) + "]" : "")
         << "]]}}";
    return text.str();
}

}  // namespace

TEST_CASE(
    "Settlements come from a spreadsheet, with their births or from a population and a rate") {
    const std::string text =
        "id,name,latitude,longitude,births_per_year,population\n"
        "hill,Hill village,-0.25,0.5,34,1000\n"
        "shore,,-0.3,0.6,,2000\n";
    CHECK(csv_problems(text).find("line 3, column births_per_year: is needed") !=
          std::string::npos);
    const auto read = read_settlements_csv(text, {.births_per_1000 = 34});
    REQUIRE(read.size() == 2);
    CHECK(read[0].births_per_year == 34);
    CHECK(!read[0].births_are_estimated);
    CHECK(read[1].births_per_year == doctest::Approx(68));
    CHECK(read[1].births_are_estimated);
    CHECK(read[1].name == "shore");
    CHECK(births_of(read) == doctest::Approx(102));
}

TEST_CASE("The sample district's settlements are all read: 172, about 9,700 births a year") {
    // maps-sample/README.md
    const auto read =
        load_settlements(std::string(WAYBOURNE_SOURCE_DIR) + "/maps-sample/settlements.geojson");
    CHECK(read.size() == 172);
    CHECK(births_of(read) == doctest::Approx(9700).epsilon(0.01));
}

TEST_CASE("Every bad row is named with its reason, and nothing is imported") {
    const std::string all = csv_problems(
        "id,latitude,longitude,births_per_year\n"
        "a,0.1,0.1,-3\n"
        "a,0.2,0.1,5\n"
        "b,97.1,0.1,5\n"
        "c,0.2,0.1,many\n"
        "D d,0.2,0.1,5\n"
        "e,0.2,0.1\n"
        "f,0.2,,5\n");
    CHECK(all ==
          "nothing was imported: 7 rows are bad\n"
          "line 2, column births_per_year: -3 is outside 0 to 1000000000\n"
          "line 3, column id: 'a' is already the id of line 2\n"
          "line 4, column latitude: 97.1 is outside -90 to 90\n"
          "line 5, column births_per_year: 'many' is not a number\n"
          "line 6, column id: 'D d' is not made of a to z, 0 to 9, _ and -\n"
          "line 7: has 3 values, the headings 4\n"
          "line 8, column longitude: is needed");
}

TEST_CASE("A settlement off the map is refused, one beside it is not") {
    const SettlementImport options{
        .is_on_map = [](const GeoPoint& point) { return point.latitude().degrees < 1; }};
    const std::string all = csv_problems(
        "id,latitude,longitude,births_per_year\n"
        "a,0.1,0.1,3\n"
        "b,40,3,3\n",
        options);
    CHECK(all ==
          "nothing was imported: 1 row is bad\n"
          "line 3: lies off the map: 40, 3 is nowhere near a road of it");
}

TEST_CASE("Wrong headings are told with the nearest right one, and an empty file is no file") {
    CHECK(csv_problems("id,latitude,longitude,birth_per_year\n") ==
          "nothing was imported: the headings are wrong\n"
          "line 1: column 'birth_per_year' is not known; did you mean 'births_per_year'?");
    CHECK(csv_problems("") ==
          "nothing was imported: the headings are wrong\nline 1: the file is empty");
    CHECK(csv_problems("id,latitude,longitude\n") ==
          "nothing was imported: the file has no settlement");
    CHECK(csv_problems("id,latitude,longitude\n\xff\n").find("not UTF-8") != std::string::npos);
    CHECK(problems([] { load_settlements("settlements.xls"); }) ==
          "'settlements.xls' is neither .geojson, .json nor .csv");
    CHECK(problems([] { load_settlements("no/such.csv"); }) == "cannot read 'no/such.csv'");
}

TEST_CASE("A birth rate that no country has is refused") {
    for (const double rate : {0.0, -1.0, 101.0}) {
        CAPTURE(rate);
        CHECK(csv_problems("id,latitude,longitude,population\na,0,0,5\n", {.births_per_1000 = rate})
                  .find("is outside 0 to 100") != std::string::npos);
    }
}

TEST_CASE("In GeoJSON the wrong member is pointed at") {
    const std::string all = problems([] {
        read_settlements_geojson(geojson(
            R"({"type": "Feature", "id": "a", "geometry": {"type": "Point", "coordinates": [0, 91]},
                "properties": {"births_per_year": 4, "birth": 3}},
               {"type": "Feature", "id": "b", "geometry": {"type": "LineString", "coordinates": []},
                "properties": {"births_per_year": -4}}, 7)"));
    });
    CHECK(all.find("nothing was imported: 3 rows are bad") == 0);
    CHECK(all.find("#/features/0/geometry/coordinates: ") != std::string::npos);
    CHECK(all.find("#/features/0/properties/birth: is not known here") != std::string::npos);
    CHECK(all.find("#/features/1/geometry: a Point is needed") != std::string::npos);
    CHECK(all.find("#/features/1/births_per_year: -4 is outside") != std::string::npos);
    CHECK(all.find("#/features/2: is not a GeoJSON Feature") != std::string::npos);
    CHECK(all.find("latitude") == all.find("latitude 91"));
    CHECK(problems([] { read_settlements_geojson("{}"); }).find("no GeoJSON FeatureCollection") !=
          std::string::npos);
    CHECK(problems([] { read_settlements_geojson("["); }).find("no JSON") != std::string::npos);
}

TEST_CASE("A polygon that is not closed is refused, with its ring") {
    CHECK(problems([] { read_areas(geojson(square("north", 0, 0, 1, false))); }) ==
          "nothing was imported: 1 row is bad\n"
          "#/features/0/geometry/coordinates/0: is not closed: the last position must be the first "
          "again");
    CHECK(problems([] {
              read_areas(geojson(square("a", 0, 0, 1) + "," + square("a", 1, 0, 1)));
          }).find("'a' is already the id of #/features/0") != std::string::npos);
    CHECK(problems([] {
              read_areas(geojson(
                  R"({"type": "Feature", "id": "a", "properties": {},
                      "geometry": {"type": "Polygon", "coordinates": [[[0,0],[1,1],[0,0]]]}})"));
          }).find("has 3 positions: a closed ring has four or more") != std::string::npos);
}

TEST_CASE("Each settlement falls into its sub-district, and the totals agree") {
    const auto areas = read_areas(geojson(square("west", 0, 0, 1) + "," + square("east", 1, 0, 1)));
    auto settlements =
        with_areas(read_settlements_csv("id,latitude,longitude,births_per_year\n"
                                        "a,0.5,0.5,10\nb,0.5,1.5,20\nc,0.9,0.1,40\nd,1.5,0.5,80\n"),
                   areas);
    CHECK(settlements[0].area.value() == "west");
    CHECK(settlements[1].area.value() == "east");
    CHECK(settlements[2].area.value() == "west");
    CHECK(settlements[3].area.value().empty());
    const auto totals = area_totals(settlements, areas);
    REQUIRE(totals.size() == 3);
    CHECK(totals[0].births_per_year == 50);
    CHECK(totals[1].births_per_year == 20);
    CHECK(totals[2].area.value().empty());
    CHECK(totals[2].births_per_year == 80);
}

TEST_CASE("A hole in a sub-district is outside, and the 180th meridian is no border") {
    const auto areas = read_areas(geojson(
        R"({"type": "Feature", "id": "ring", "properties": {}, "geometry": {"type": "Polygon",
            "coordinates": [[[0,0],[4,0],[4,4],[0,4],[0,0]], [[1,1],[3,1],[3,3],[1,3],[1,1]]]}},
           {"type": "Feature", "id": "date-line", "properties": {}, "geometry":
            {"type": "MultiPolygon", "coordinates":
             [[[[179,0],[-179,0],[-179,1],[179,1],[179,0]]]]}})"));
    CHECK(contains(areas[0], {Latitude{0.5}, Longitude{2}}));
    CHECK(!contains(areas[0], {Latitude{2}, Longitude{2}}));
    CHECK(contains(areas[1], {Latitude{0.5}, Longitude{-179.5}}));
    CHECK(contains(areas[1], {Latitude{0.5}, Longitude{179.5}}));
    CHECK(!contains(areas[1], {Latitude{0.5}, Longitude{178}}));
}
