#include "routing/speed_rules.hpp"

#include <doctest/doctest.h>

#include <fstream>
#include <iterator>
#include <string>

using namespace waybourne;
using namespace waybourne::routing;

namespace {

SpeedTable own_table() {
    std::ifstream file(WAYBOURNE_SOURCE_DIR "/routing/data/speeds.json");
    return parse_speed_table(std::string(std::istreambuf_iterator<char>(file), {}));
}

constexpr RoadConditions dry_day{};
constexpr RoadConditions wet_day{.surface = Surface::wet, .light = Light::day};

}  // namespace

TEST_CASE("Fords and seasonal roads are open when it is dry and closed when it is wet") {
    const SpeedTable table = own_table();
    RoadAttributes ford;
    ford.is_ford = true;
    RoadAttributes seasonal;
    seasonal.is_seasonal = true;
    for (const Means means :
         {Means::car, Means::four_wheel_drive, Means::motorcycle, Means::on_foot}) {
        CAPTURE(to_name(means));
        CHECK(speed_rules(table, means, dry_day).on_road(ford));
        CHECK(speed_rules(table, means, dry_day).on_road(seasonal));
        CHECK_FALSE(speed_rules(table, means, wet_day).on_road(ford));
        CHECK_FALSE(speed_rules(table, means, wet_day).on_road(seasonal));
        CHECK(speed_rules(table, means, wet_day).on_road({}));
    }
}

TEST_CASE("A road of the wet season is closed when it is dry") {
    const SpeedTable table = own_table();
    RoadAttributes wet_season;
    wet_season.is_wet_season_only = true;
    for (const Means means :
         {Means::car, Means::four_wheel_drive, Means::motorcycle, Means::on_foot}) {
        CAPTURE(to_name(means));
        CHECK_FALSE(speed_rules(table, means, dry_day).on_road(wet_season));
        CHECK(speed_rules(table, means, wet_day).on_road(wet_season));
    }
}

TEST_CASE("The rules are the table's: its speeds, its walking, its spread of ferries") {
    const SpeedTable table = own_table();
    const SpeedRules rules = speed_rules(table, Means::car, wet_day);
    const RoadAttributes road;
    CHECK(rules.on_road(road) == table.speed(road.kind, wet_day, Means::car));
    CHECK(rules.off_road == table.walking_off_road(Surface::wet));
    CHECK(rules.off_road_detour == table.rows().walking_detour);
    CHECK(rules.ferry_spread == table.rows().ferry_spread);
    CHECK(rules.means == Means::car);
    CHECK(rules.conditions == wet_day);
}

TEST_CASE("Wet is never faster than dry, nor night than day, on any road by any means") {
    const SpeedTable table = own_table();
    const RoadConditions dry_night{.surface = Surface::dry, .light = Light::night};
    for (std::size_t road_class = 0; road_class < road_class_count - 1; ++road_class) {
        for (std::size_t surface = 0; surface < surface_class_count; ++surface) {
            RoadAttributes road;
            road.kind.road_class = static_cast<RoadClass>(road_class);
            road.kind.surface = static_cast<SurfaceClass>(surface);
            for (const Means means : {Means::car, Means::motorcycle, Means::on_foot}) {
                const auto dry = speed_rules(table, means, dry_day).on_road(road);
                for (const RoadConditions& worse : {wet_day, dry_night}) {
                    const auto other = speed_rules(table, means, worse).on_road(road);
                    CHECK((!other ||
                           (dry && other->kilometres_per_hour <= dry->kilometres_per_hour)));
                }
            }
        }
    }
}
