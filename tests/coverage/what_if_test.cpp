#include "coverage/what_if.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <functional>
#include <regex>
#include <sstream>

#include "routing/osm_import.hpp"
#include "routing/place_sweep.hpp"
#include "routing/reference_router.hpp"
#include "tests/coverage/sample_district.hpp"
#include "tests/coverage/small_district.hpp"

// Planned roads are held to a full computation: the sample's map with other tags, imported anew.

using namespace waybourne;
using namespace waybourne::coverage;
using routing::Light;
using routing::RoadName;
using routing::Surface;

namespace {

Scenario only(Change change) {
    return {"one", {std::move(change)}};
}

std::string read(const std::string& path) {
    std::ifstream file{path, std::ios::binary};
    std::ostringstream content;
    content << file.rdbuf();
    return content.str();
}

/// The sample's map in which every way of that name has been edited.
std::string map_with(const std::string& road, const std::function<void(std::string&)>& edit) {
    const std::string map = read(std::string{WAYBOURNE_SOURCE_DIR} + "/maps-sample/roads.osm");
    std::string changed;
    std::size_t edited = 0;
    for (std::size_t at = 0; at < map.size();) {
        const std::size_t begin = map.find("<way ", at);
        const std::size_t end = begin == std::string::npos ? begin : map.find("</way>", begin);
        if (end == std::string::npos) {
            changed += map.substr(at);
            break;
        }
        std::string way = map.substr(begin, end - begin);
        if (way.find("v=\"" + road + "\"") != std::string::npos) {
            edit(way);
            ++edited;
        }
        changed += map.substr(at, begin - at) + way;
        at = end;
    }
    REQUIRE(edited > 0);
    return changed;
}

void erase_tags(std::string& way, const std::vector<std::string>& keys) {
    for (const std::string& key : keys) {
        way = std::regex_replace(way, std::regex("<tag k=\"" + key + "\"[^>]*/>"), "");
    }
}

/// From every settlement to every place, on that network, by the reference engine.
TravelTimes table_on(const std::shared_ptr<const routing::Metric>& metric) {
    routing::ReferenceRouter router{metric};
    const routing::SnapIndex index{metric->shared_network()};
    const auto snaps = [&](const auto& all) {
        std::vector<std::optional<routing::Snap>> made;
        for (const auto& one : all) {
            made.push_back(index.snap(one.point, *metric));
        }
        return made;
    };
    return travel_times(router, snaps(sample().settlements()),
                        snaps(sample().facilities().facilities()), sample().now());
}

/// The same on the map as it would be.
TravelTimes imported_anew(const std::string& map, routing::RoadConditions conditions) {
    const auto file = std::filesystem::temp_directory_path() / "waybourne_what_if_test.osm";
    std::ofstream{file} << map;
    const auto network = std::make_shared<const routing::RoadNetwork>(
        routing::import_osm(file.string(), sample().speeds(), {.time_zone = "Etc/UTC"}).network);
    std::filesystem::remove(file);
    return table_on(std::make_shared<const routing::Metric>(
        network, routing::speed_rules(sample().speeds(), routing::Means::car, conditions)));
}

TravelTimes planned(const Scenario& scenario, routing::RoadConditions conditions) {
    const auto now = sample().metric(conditions);
    const routing::SpeedRules rules =
        routing::speed_rules(sample().speeds(), routing::Means::car, conditions);
    return table_on(with_changes(
        now, rules,
        [&](const routing::SpeedRules& other) {
            return routing::Metric(now->shared_network(), other);
        },
        scenario));
}

const GeoPoint somewhere{Latitude{0}, Longitude{0}};
constexpr routing::RoadConditions wet_day{Surface::wet, Light::day};
constexpr routing::RoadConditions dry_day{Surface::dry, Light::day};

}  // namespace

TEST_CASE("A ford with a bridge is passed in the wet as if the map had never known a ford") {
    const auto plan = planned(only(BridgedRoad{RoadName{"Ford road"}}), wet_day);
    const std::string map = map_with("Ford road", [](std::string& way) {
        erase_tags(way, {"ford", "seasonal"});
    });
    CHECK(plan == imported_anew(map, wet_day));
    CHECK(plan != table_on(sample().metric(wet_day)));
}

TEST_CASE("A paved road is as quick as if the map had always called it asphalt") {
    const auto pave = [](std::string& way) {
        erase_tags(way, {"surface", "tracktype", "smoothness", "seasonal"});
        way += R"(<tag k="surface" v="asphalt"/><tag k="tracktype" v="grade1"/>)"
               R"(<tag k="smoothness" v="good"/>)";
    };
    const std::string map = map_with("Zhelappu track", pave);
    for (const auto conditions : {wet_day, dry_day}) {
        const auto plan = planned(only(PavedRoad{RoadName{"Zhelappu track"}}), conditions);
        CHECK(plan == imported_anew(map, conditions));
    }
    // its ford stays: in the wet nobody passes, paved or not; with both, all do
    const Scenario both{
        "both", {PavedRoad{RoadName{"Zhelappu track"}}, BridgedRoad{RoadName{"Zhelappu track"}}}};
    const std::string dry_shod = map_with("Zhelappu track", [&](std::string& way) {
        pave(way);
        erase_tags(way, {"ford"});
    });
    CHECK(planned(both, wet_day) == imported_anew(dry_shod, wet_day));
}

TEST_CASE("A closed road is closed whatever else is planned for it, and never shortens a way") {
    const TravelTimes before = table_on(sample().metric(dry_day));
    const TravelTimes closed = planned(only(ClosedRoad{RoadName{"Valley road"}}), dry_day);
    CHECK(closed != before);
    for (std::size_t i = 0; i < before.settlements(); ++i) {
        for (std::size_t place = 0; place < before.places(); ++place) {
            const auto then = closed.at(i, place);
            REQUIRE((!then || then->typical >= before.at(i, place)->typical));
        }
    }
    const Scenario paved_too{
        "both", {ClosedRoad{RoadName{"Valley road"}}, PavedRoad{RoadName{"Valley road"}}}};
    CHECK(planned(paved_too, dry_day) == closed);
}

TEST_CASE("A change that means no road of the map is refused") {
    for (const Change& change :
         {Change{ClosedRoad{RoadName{"No such road"}}}, Change{PavedRoad{routing::RoadId{-7}}}}) {
        CHECK_THROWS_AS(planned(only(change), dry_day), InputError);
    }
}

TEST_CASE("Care that is added is ready at any hour, and known to be") {
    const facilities::FacilityRegister now({place_offering("clinic", {blood})});
    const auto then =
        with_changes(now, only(AddedService{FacilityId("clinic"), {caesarean}}), noon);
    for (const auto assumption : {ReadinessAssumption::as_registered, ReadinessAssumption::by_hour,
                                  ReadinessAssumption::as_reported}) {
        CareClock clock = clock_of({{30}}, then, assumption, {0s, 0s});
        const CareTime care = clock.care(0, 0, {caesarean});
        CHECK(care.ready == Known::yes);
        CHECK(care.begins->allow == 30min);
    }
    CHECK_FALSE(clock_of({{30}}, now).offers(0, {caesarean}));
}

TEST_CASE("Where hours are extended, whoever the care rests on is there longer too") {
    facilities::Facility hospital = place_offering("hospital", {caesarean});
    facilities::Resource team;
    team.name = "team";
    team.hours = facilities::parse_opening_hours("Mo-Su 07:00-11:00");
    hospital.resources = {team};
    hospital.services[0].needs = {{"team", 1}};
    const facilities::FacilityRegister now({hospital});
    const auto ready = [](const facilities::FacilityRegister& places) {
        // noon is past eleven
        return clock_of({{30}}, places, ReadinessAssumption::by_hour, {0s, 0s})
            .care(0, 0, {caesarean});
    };
    CHECK(ready(now).begins->allow > 30min);
    const auto then = with_changes(
        now, only(ExtendedHours{FacilityId("hospital"), {}, facilities::OpeningHours()}), noon);
    CHECK(ready(then).begins->allow == 30min);
    CHECK_THROWS_AS(
        with_changes(
            now, only(ExtendedHours{FacilityId("hospital"), {blood}, facilities::OpeningHours()}),
            noon),
        InputError);
}

TEST_CASE("A new facility stands beside the others; one that is there already is refused") {
    const facilities::FacilityRegister now({place_offering("clinic", {blood})});
    AddedFacility added{FacilityId("new"), "New", GeoPoint{Latitude{1}, Longitude{1}}, {caesarean}};
    const auto then = with_changes(now, only(added), noon);
    CHECK(then.facilities().size() == 2);
    CHECK(then.facility(FacilityId("new")).point == added.point);
    added.id = FacilityId("clinic");
    CHECK_THROWS_AS(with_changes(now, only(added), noon), InputError);
    CHECK_THROWS_AS(with_changes(now, only(AddedService{FacilityId("clinc"), {blood}}), noon),
                    NotFound);
}

TEST_CASE("A waiting home takes in the nearest who are not in time, as many as it has room for") {
    const facilities::FacilityRegister places({place_offering("hospital", {caesarean})});
    std::vector<Settlement> settlements{settlement("in-time", 100), settlement("far", 80),
                                        settlement("near", 30)};
    settlements[1].point = GeoPoint{Latitude{2}, Longitude{0}};
    settlements[2].point = GeoPoint{Latitude{1}, Longitude{0}};
    std::vector<SettlementAccess> accesses(3);
    accesses[0].access = AccessClass::in_time;
    const auto then = with_waiting_homes(settlements, accesses, places,
                                         only(WaitingHome{FacilityId("hospital"), 50}));
    REQUIRE(then.size() == 4);
    CHECK(then[0].births_per_year == 100);  // needs no home
    CHECK(then[2].births_per_year == 0);    // 30 of them come
    CHECK(then[1].births_per_year == 60);   // 20 of them fill it
    CHECK(then[3].births_per_year == 50);
    CHECK(then[3].point == places.facilities()[0].point);
    CHECK(births_of(then) == births_of(settlements));
}

TEST_CASE("Room that nobody needs stays empty") {
    const facilities::FacilityRegister places({place_offering("hospital", {caesarean})});
    const std::vector<SettlementAccess> accesses(1);  // no way
    const auto then = with_waiting_homes({settlement("only", 10)}, accesses, places,
                                         only(WaitingHome{FacilityId("hospital"), 50}));
    CHECK(then[1].births_per_year == 10);
}

TEST_CASE("By sweeps every way of the sample is what a search for each settlement gives") {
    for (const auto conditions :
         {dry_day, wet_day, routing::RoadConditions{Surface::wet, Light::night}}) {
        const auto metric = sample().metric(conditions);
        const auto prepared = std::make_shared<const routing::PreparedMetric>(
            metric, routing::make_hierarchy(metric->network()));
        const auto settlements = sample().settlement_snaps(*metric);
        const auto places = sample().place_snaps(*metric);
        routing::HierarchyRouter router{prepared};
        const routing::PlaceSweep sweep{prepared, settlements};
        CHECK(travel_times(sweep, router, settlements, places, sample().now()) ==
              *sample().ways(conditions, sample().now()));
    }
}

TEST_CASE("Tables of ways: the sooner of two, all half as long again, rows for columns") {
    const TravelTimes a = minutes_table({{10, no_way}, {30, 40}});
    const TravelTimes b = minutes_table({{20, 50}, {5, no_way}});
    CHECK(sooner(a, b) == minutes_table({{10, 50}, {5, 40}}));
    CHECK(scaled(a, 1.5) == minutes_table({{15, no_way}, {45, 60}}));
    CHECK(turned_round(a) == minutes_table({{10, 30}, {no_way, 40}}));
    CHECK_THROWS_AS(scaled(a, 0), InputError);
    CHECK_THROWS_AS(sooner(a, minutes_table({{1}})), InputError);
}

TEST_CASE("Each kind of change has a name of its own") {
    CHECK(to_name(Change{AddedService{}}) == "service");
    CHECK(to_name(Change{ClosedRoad{}}) == "closed");
    CHECK(to_name(Change{VehiclePost{}}) == "vehicle_post");
    CHECK(changes_roads(only(NewBridge{})));
    CHECK_FALSE(changes_roads(only(VehiclePost{})));
    REQUIRE(links_of(only(NewBridge{somewhere, somewhere, 30})).size() == 1);
}
