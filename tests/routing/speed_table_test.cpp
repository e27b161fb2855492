#include "routing/speed_table.hpp"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "tests/routing/map_fixture.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

constexpr RoadConditions dry_day{Surface::dry, Light::day};
constexpr RoadConditions wet_day{Surface::wet, Light::day};
constexpr RoadConditions dry_night{Surface::dry, Light::night};
constexpr RoadConditions wet_night{Surface::wet, Light::night};

RoadKind kind(RoadClass road_class, SurfaceClass surface,
              TrackType track_type = TrackType::unknown) {
    return {.road_class = road_class, .surface = surface, .track_type = track_type};
}

double speed(const RoadKind& road, RoadConditions conditions, Means means = Means::car,
             Estimate estimate = Estimate::central) {
    return speed_table().speed(road, conditions, means, estimate).value().kilometres_per_hour;
}

nlohmann::json table_json() {
    return nlohmann::json::parse(
        file_content(std::string{WAYBOURNE_SOURCE_DIR} + "/routing/data/speeds.json"));
}

std::vector<FieldError> errors_of(const std::string& text) {
    try {
        parse_speed_table(text);
    } catch (const InputError& error) {
        return error.fields();
    }
    return {};
}

/// The one error of a table that is wrong in one place.
std::string only_error_at(const nlohmann::json& table) {
    const std::vector<FieldError> errors = errors_of(table.dump());
    REQUIRE(errors.size() == 1);
    return errors.front().pointer;
}

const std::vector<RoadKind>& all_kinds() {
    static const std::vector<RoadKind> kinds = [] {
        std::vector<RoadKind> result;
        for (std::size_t a = 0; a < road_class_count; ++a) {
            for (std::size_t b = 0; b < surface_class_count; ++b) {
                for (std::size_t c = 0; c < track_type_count; ++c) {
                    for (std::size_t d = 0; d < smoothness_count; ++d) {
                        result.push_back({static_cast<RoadClass>(a), static_cast<SurfaceClass>(b),
                                          static_cast<TrackType>(c), static_cast<Smoothness>(d)});
                    }
                }
            }
        }
        return result;
    }();
    return kinds;
}

}  // namespace

// The project's own defaults (assumptions, labelled as such in the file): trunk 80, primary 60,
// secondary 45, unpaved 25, track 12, street 18 km/h; wet 0.95, 0.90, 0.80, 0.55, 0.35, 0.85; night
// 0.92, 0.88, 0.85, 0.75, 0.70, 0.90.
TEST_CASE("The table holds the speeds that it says it does") {
    struct Row {
        RoadKind road;
        double dry;
        double wet_factor;
        double night_factor;
    };
    const std::vector<Row> rows{
        {kind(RoadClass::trunk, SurfaceClass::paved), 80, 0.95, 0.92},
        {kind(RoadClass::primary, SurfaceClass::paved), 60, 0.90, 0.88},
        {kind(RoadClass::secondary, SurfaceClass::paved), 45, 0.80, 0.85},
        {kind(RoadClass::tertiary, SurfaceClass::unpaved), 25, 0.55, 0.75},
        {kind(RoadClass::track, SurfaceClass::earth), 12, 0.35, 0.70},
        {kind(RoadClass::residential, SurfaceClass::paved), 18, 0.85, 0.90}};
    for (const Row& row : rows) {
        CAPTURE(to_name(row.road.road_class));
        CHECK(speed(row.road, dry_day) == doctest::Approx(row.dry));
        CHECK(speed(row.road, wet_day) == doctest::Approx(row.dry * row.wet_factor));
        CHECK(speed(row.road, dry_night) == doctest::Approx(row.dry * row.night_factor));
        CHECK(speed(row.road, wet_night) ==
              doctest::Approx(row.dry * row.wet_factor * row.night_factor));
    }
}

TEST_CASE("The low figures of the large roads are those of a published model") {
    // Malaria Journal 2017, doi 10.1186/s12936-017-2009-3, table 1: classes A and B 50, C and D 30.
    CHECK(speed(kind(RoadClass::trunk, SurfaceClass::paved), dry_day, Means::car, Estimate::low) ==
          50);
    CHECK(speed(kind(RoadClass::secondary, SurfaceClass::paved), dry_day, Means::car,
                Estimate::low) == 30);
}

TEST_CASE("One walks five kilometres an hour on a road and less beside it") {
    // The same table 1 (5 km/h); off the road Blanford et al. 2012, table 2 (3 dry, 2 wet).
    CHECK(speed(kind(RoadClass::path, SurfaceClass::earth), dry_day, Means::on_foot) == 5);
    CHECK(speed_table().walking_off_road(Surface::dry).kilometres_per_hour == 3);
    CHECK(speed_table().walking_off_road(Surface::wet).kilometres_per_hour == 2);
    CHECK(speed_table().rows().walking_detour == 1.3);
}

TEST_CASE("Rain and darkness never make a road faster, nor surer") {
    for (const RoadKind& road : all_kinds()) {
        for (const Means means :
             {Means::car, Means::motorcycle, Means::four_wheel_drive, Means::on_foot}) {
            const auto best = speed_table().speed(road, dry_day, means);
            for (const RoadConditions& worse : {wet_day, dry_night, wet_night}) {
                const auto other = speed_table().speed(road, worse, means);
                if (other) {
                    REQUIRE(best);
                    CHECK(other->kilometres_per_hour <= best->kilometres_per_hour);
                    CHECK(other->spread >= best->spread);
                }
            }
        }
    }
}

TEST_CASE(
    "Every kind of road has a speed on foot and for a four-wheel drive unless it is too rough") {
    for (const RoadKind& road : all_kinds()) {
        const bool is_road = road.road_class != RoadClass::ferry;
        CHECK(speed_table().speed(road, dry_day, Means::on_foot).has_value() == is_road);
        const bool is_passable = is_road && road.smoothness != Smoothness::very_horrible &&
                                 road.smoothness != Smoothness::impassable;
        CHECK(speed_table().speed(road, dry_day, Means::four_wheel_drive).has_value() ==
              is_passable);
        CHECK_FALSE(speed_table().speed(road, dry_day, Means::boat));
    }
}

TEST_CASE("A rough road is slower, and at some point no road for a car") {
    RoadKind road = kind(RoadClass::tertiary, SurfaceClass::unpaved);
    road.smoothness = Smoothness::very_bad;
    CHECK(speed(road, dry_day) == doctest::Approx(12.5));
    road.smoothness = Smoothness::horrible;
    CHECK_FALSE(speed_table().speed(road, dry_day, Means::car));
    CHECK(speed(road, dry_day, Means::four_wheel_drive) == doctest::Approx(7.5));
}

TEST_CASE("A soft track is no road for a car in the wet, but for a four-wheel drive it is") {
    const RoadKind soft = kind(RoadClass::track, SurfaceClass::earth, TrackType::grade5);
    CHECK(speed_table().speed(soft, dry_day, Means::car));
    CHECK_FALSE(speed_table().speed(soft, wet_day, Means::car));
    CHECK(speed_table().speed(soft, wet_day, Means::four_wheel_drive));
}

TEST_CASE("A speed limit slows a car down and never speeds it up; walkers do not care") {
    RoadKind road = kind(RoadClass::primary, SurfaceClass::paved);
    road.maxspeed_kmh = 40;
    CHECK(speed(road, dry_day) == 40);
    road.maxspeed_kmh = 60;
    CHECK(speed(road, dry_day) == 60);
    road.maxspeed_kmh = 120;
    CHECK(speed(road, dry_day) == 60);
    road.maxspeed_kmh = 3;
    CHECK(speed(road, dry_day, Means::on_foot) == 5);
}

TEST_CASE("Every figure names its source, and every assumption is called one") {
    const SpeedRows& rows = speed_table().rows();
    for (const auto& row : rows.sources) {
        const auto& source = row.second;
        CAPTURE(row.first);
        CHECK(source.text.size() > 20);
        CHECK_FALSE(source.is_measured);  // none of today's figures is; the day one is, say so here
    }
    CHECK(rows.sources.at("default").text.starts_with("assumption, not measured"));
    const SpeedRow* row = speed_table().find_row(kind(RoadClass::track, SurfaceClass::earth));
    REQUIRE(row != nullptr);
    CHECK(rows.sources.contains(row->source));
}

TEST_CASE("A table with something wrong is refused, naming the place") {
    nlohmann::json table = table_json();
    SUBCASE("a factor above one: wet faster than dry") {
        table["rows"][0]["wet_factor"] = 1.01;
        CHECK(only_error_at(table) == "#/rows/0/wet_factor");
    }
    SUBCASE("a factor of one is allowed") {
        table["rows"][0]["wet_factor"] = 1;
        CHECK(errors_of(table.dump()).empty());
    }
    SUBCASE("a speed of nothing") {
        table["rows"][1]["dry_day_kmh"]["low"] = 0;
        CHECK(only_error_at(table) == "#/rows/1/dry_day_kmh/low");
    }
    SUBCASE("a range out of order") {
        table["rows"][1]["dry_day_kmh"]["central"] = 100;
        CHECK(only_error_at(table) == "#/rows/1/dry_day_kmh");
    }
    SUBCASE("a source that is not listed") {
        table["rows"][2]["source"] = "hearsay";
        CHECK(only_error_at(table) == "#/rows/2/source");
    }
    SUBCASE("a kind of road without a row") {
        for (auto& row : table["rows"]) {
            row["road_classes"] = {"trunk"};
        }
        CHECK(errors_of(table.dump()).size() > 10);
    }
    SUBCASE("a field nobody knows, with the one that may be meant") {
        table["rows"][0]["wet_facto"] = 0.5;
        CHECK(only_error_at(table) == "#/rows/0/wet_facto");
        CHECK(errors_of(table.dump()).front().detail == "unknown; is 'wet_factor' meant?");
    }
    SUBCASE("a word nobody knows") {
        table["rows"][0]["road_classes"] = {"highroad"};
        CHECK(errors_of(table.dump()).front().pointer == "#/rows/0/road_classes");
    }
    SUBCASE("a surface in two classes") {
        table["surfaces"]["earth"].push_back("asphalt");
        CHECK(errors_of(table.dump()).size() == 1);
    }
    SUBCASE("walking faster in the wet") {
        table["walking"]["off_road_wet_kmh"]["low"] = 1.6;
        CHECK(only_error_at(table) == "#/walking/off_road_wet_kmh");
    }
    SUBCASE("a part missing") {
        table.erase("walking");
        CHECK(only_error_at(table) == "#/walking");
    }
    SUBCASE("a number that is a text") {
        table["ferry"]["kmh"] = "8";
        CHECK(only_error_at(table) == "#/ferry/kmh");
    }
}

TEST_CASE("All faults of a table are named at once") {
    nlohmann::json table = table_json();
    table["rows"][0]["wet_factor"] = "much";
    table["rows"][3].erase("source");
    table["smoothness"][0]["smoothness"] = "silky";
    table.erase("version");
    CHECK(errors_of(table.dump()).size() == 4);
}

TEST_CASE("Each required part of the table is missed when it is not there") {
    const nlohmann::json whole = table_json();
    int removed = 0;
    for (const auto& part : whole.items()) {
        const std::string& name = part.key();
        nlohmann::json table = whole;
        table.erase(name);
        CAPTURE(name);
        CHECK_FALSE(errors_of(table.dump()).empty());
        ++removed;
    }
    for (const char* name : {"dry_day_kmh", "wet_factor", "night_factor", "dry_spread_s",
                             "wet_spread_s", "source", "factor_source", "spread_source"}) {
        nlohmann::json table = whole;
        table["rows"][0].erase(name);
        CAPTURE(name);
        CHECK(only_error_at(table) == std::string{"#/rows/0/"} + name);
    }
    CHECK(removed == 9);
}

TEST_CASE("What is no JSON, or no object, is refused") {
    CHECK_THROWS_AS(parse_speed_table(""), InputError);
    CHECK_THROWS_AS(parse_speed_table("{"), InputError);
    CHECK_THROWS_AS(parse_speed_table("[]"), InputError);
    CHECK_THROWS_AS(parse_speed_table(std::string(100'000, '[')), InputError);
}
