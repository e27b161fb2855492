#include "routing/boat_ways.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "routing/reference_router.hpp"
#include "routing/snap.hpp"
#include "routing/speed_rules.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

SpeedTable own_table() {
    std::ifstream file(WAYBOURNE_SOURCE_DIR "/routing/data/speeds.json");
    return parse_speed_table(std::string(std::istreambuf_iterator<char>(file), {}));
}

GeoPoint at(double north_km, double east_km) {
    constexpr double km_in_a_degree = 111.195;
    return {Latitude{north_km / km_in_a_degree}, Longitude{east_km / km_in_a_degree}};
}

constexpr Instant noon{std::chrono::sys_days{std::chrono::year{2026} / 3 / 4} + 12h};
constexpr RoadConditions dry_day{};
constexpr RoadConditions wet_day{.surface = Surface::wet, .light = Light::day};

/// Three landings, each 10 km down the river from the one before.
BoatWays river() {
    BoatWays boats;
    boats.landings = {
        {"Upper landing", at(20, 0)}, {"Middle landing", at(10, 0)}, {"Lower landing", at(0, 0)}};
    boats.ways = {{.from = 0, .to = 1, .name = "upper reach", .there = 20min, .back = 35min},
                  {.from = 1, .to = 2, .name = "lower reach", .there = 25min, .back = 40min}};
    return boats;
}

/// Asks for ways by boat.
struct Boats {
    explicit Boats(const BoatWays& boats, RoadConditions conditions = dry_day)
        : table(own_table()),
          network(std::make_shared<const RoadNetwork>(network_of(boats))),
          metric(
              std::make_shared<const Metric>(network, speed_rules(table, Means::boat, conditions))),
          index(network),
          router(metric) {}

    std::optional<Snap> snap(const GeoPoint& point) const { return index.snap(point, *metric); }
    std::optional<Route> route(const GeoPoint& from, const GeoPoint& to, Instant departs = noon) {
        const auto one = snap(from);
        const auto other = snap(to);
        REQUIRE(one.has_value());
        REQUIRE(other.has_value());
        return router.route({*one, departs}, *other);
    }

    SpeedTable table;
    std::shared_ptr<const RoadNetwork> network;
    std::shared_ptr<const Metric> metric;
    SnapIndex index;
    ReferenceRouter router;
};

}  // namespace

TEST_CASE("A boat goes from landing to landing, one leg for each way, slower up the river") {
    Boats boats(river());
    const auto down = boats.route(at(20, 0), at(0, 0));
    REQUIRE(down.has_value());
    CHECK(down->travel_time.typical == 45min);
    REQUIRE(down->legs.size() == 2);
    CHECK(down->legs[0].means == Means::boat);
    CHECK(down->legs[0].stretches.front().road == "upper reach");
    CHECK(down->legs[0].stretches.front().road_class == "boat");
    CHECK_FALSE(down->legs[0].is_assumed);
    CHECK(down->legs[1].travel_time.typical == 25min);
    // along the water, where no other line is drawn: straight
    CHECK(down->legs[1].distance.value() == doctest::Approx(10000).epsilon(0.001));
    const auto up = boats.route(at(0, 0), at(20, 0));
    REQUIRE(up.has_value());
    CHECK(up->travel_time.typical == 75min);
    CHECK(up->travel_time.allow > up->travel_time.typical);
}

TEST_CASE("Only a landing leads onto the water, and the way to it is walked") {
    Boats boats(river());
    // beside the middle of the upper reach: 4 km from it, 6 km from either landing
    CHECK_FALSE(boats.snap(at(15, 4)).has_value());
    const auto near = boats.snap(at(20, 1));
    REQUIRE(near.has_value());
    REQUIRE(near->accesses.size() == 1);
    CHECK(near->accesses.front().off_road.value() == doctest::Approx(1000).epsilon(0.001));
    const auto way = boats.route(at(20, 1), at(10, 0));
    REQUIRE(way.has_value());
    REQUIRE(way->legs.size() == 2);
    CHECK(way->legs[0].means == Means::on_foot);
    CHECK(way->legs[0].is_assumed);
    CHECK(way->travel_time.typical == way->legs[0].travel_time.typical + 20min);
}

TEST_CASE("A way with hours is waited for, and one that is closed in the wet is closed then") {
    BoatWays with_hours = river();
    with_hours.ways[1].hours = parse_timetable("14:00-16:00", "UTC").timetable;
    with_hours.ways[1].is_open_when_wet = false;
    Boats dry(with_hours);
    const auto waits = dry.route(at(20, 0), at(0, 0));
    REQUIRE(waits.has_value());
    // at the middle landing at 12:20, over at 14:25
    CHECK(waits->travel_time.typical == 145min);
    CHECK(waits->legs[1].wait == 100min);
    CHECK(dry.route(at(20, 0), at(0, 0), noon + 2h)->travel_time.typical == 45min);
    Boats wet(with_hours, wet_day);
    CHECK_FALSE(wet.route(at(20, 0), at(0, 0)).has_value());
    CHECK(wet.route(at(20, 0), at(10, 0)).has_value());
}

TEST_CASE("The drawn line of a way is followed both ways, and nobody else may take it") {
    BoatWays bent = river();
    bent.ways[0].through = {at(18, 2), at(13, 2)};
    Boats boats(bent);
    const auto down = boats.route(at(20, 0), at(10, 0));
    const auto up = boats.route(at(10, 0), at(20, 0));
    REQUIRE(down.has_value());
    REQUIRE(up.has_value());
    CHECK(down->legs.front().line.size() == 4);
    std::vector<GeoPoint> back = up->legs.front().line;
    std::reverse(back.begin(), back.end());
    CHECK(back == down->legs.front().line);
    for (const Means means : {Means::on_foot, Means::motorcycle, Means::car}) {
        const Metric others(boats.network, speed_rules(boats.table, means, dry_day));
        for (std::uint32_t arc = 0; arc < boats.network->arc_count(); ++arc) {
            CHECK_FALSE(others.is_open(ArcId{arc}));
        }
    }
}

TEST_CASE("A way that leads nowhere or takes no time is refused") {
    BoatWays nowhere = river();
    nowhere.ways[0].to = 3;
    CHECK_THROWS_AS(network_of(nowhere), InputError);
    BoatWays at_once = river();
    at_once.ways[1].back = 0s;
    CHECK_THROWS_AS(network_of(at_once), InputError);
}

}  // namespace waybourne::routing
