#include <doctest/doctest.h>

#include "routing/osm_import.hpp"
#include "routing/reference_router.hpp"
#include "routing/speed_rules.hpp"
#include "tests/routing/map_fixture.hpp"
#include "vocabulary/time.hpp"

// Where one waits for a ferry, and where one may change: our own rules
// (docs/reference/openstreetmap-tags.md).

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

const GeoPoint west{Latitude{0}, Longitude{0.01}};
const GeoPoint island{Latitude{0.01}, Longitude{0.02}};
const GeoPoint east{Latitude{0}, Longitude{0.04}};
const GeoPoint north{Latitude{0.01}, Longitude{0.015}};

/// The ferry runs west (2) ~ 8 ~ 3 ~ east (4), the boat of the island from 3 to the island (6). A
/// third of the ferry's way lies west of 3. The liner crosses it at 8 and lands in the north (10).
///
///          north   island
///             |      |
///     west ~~ 8 ~~~~ 3 ~~~~~~~~~~ east
///             |
///           south
std::string sound(const std::string& more = "") {
    return R"(<?xml version='1.0' encoding='UTF-8'?>
<osm version="0.6">
  <node id="1" lat="0" lon="0"/>
  <node id="2" lat="0" lon="0.01"/>
  <node id="3" lat="0" lon="0.02"/>
  <node id="4" lat="0" lon="0.04"/>
  <node id="5" lat="0" lon="0.05"/>
  <node id="6" lat="0.01" lon="0.02"/>
  <node id="7" lat="0.02" lon="0.02"/>
  <node id="8" lat="0" lon="0.015"/>
  <node id="9" lat="-0.01" lon="0.015"/>
  <node id="10" lat="0.01" lon="0.015"/>
  <node id="11" lat="0.02" lon="0.015"/>
  <way id="100"><nd ref="1"/><nd ref="2"/><tag k="highway" v="primary"/></way>
  <way id="101"><nd ref="4"/><nd ref="5"/><tag k="highway" v="primary"/></way>
  <way id="102"><nd ref="6"/><nd ref="7"/><tag k="highway" v="primary"/></way>
  <way id="103"><nd ref="10"/><nd ref="11"/><tag k="highway" v="primary"/></way>
  <way id="104"><nd ref="2"/><nd ref="8"/><nd ref="3"/><nd ref="4"/><tag k="name" v="ferry"/>
    <tag k="route" v="ferry"/><tag k="duration" v="60"/><tag k="timetable" v="08:00,20:00"/></way>
  <way id="105"><nd ref="3"/><nd ref="6"/><tag k="name" v="boat of the island"/>
    <tag k="route" v="ferry"/><tag k="duration" v="10"/><tag k="timetable" v="09:00,12:00"/></way>
  <way id="106"><nd ref="9"/><nd ref="8"/><nd ref="10"/><tag k="name" v="liner"/>
    <tag k="route" v="ferry"/><tag k="duration" v="20"/><tag k="timetable" v="10:00"/></way>
)" + more + "</osm>\n";
}

/// When somebody at the water's edge at seven gets to another, in whole minutes (a part of a
/// crossing is rounded up to a second); none if never within two days.
std::optional<Instant> there(const std::string& map, const GeoPoint& from, const GeoPoint& to,
                             Means means = Means::car) {
    auto network = std::make_shared<const RoadNetwork>(
        import_osm_text(map, "osm", speed_table(), {.time_zone = "Etc/UTC", .examples = 5})
            .network);
    const auto metric =
        std::make_shared<const Metric>(network, speed_rules(speed_table(), means, {}));
    const SnapIndex index{network};
    const Instant seven = parse_rfc3339("2026-03-04T07:00:00Z");
    const std::vector<Snap> target{index.snap(to, *metric).value()};
    const auto time = ReferenceRouter{metric}.travel_times(
        {index.snap(from, *metric).value(), seven}, target, 48h);
    return time[0] ? std::optional<Instant>{std::chrono::floor<std::chrono::minutes>(
                         seven + time[0]->typical)}
                   : std::nullopt;
}

Instant at(const std::string& clock) {
    return parse_rfc3339("2026-03-04T" + clock + ":00Z");
}

}  // namespace

TEST_CASE("Whoever stays on board waits once, however many ferries meet on the way") {
    // aboard at 08:00, 60 minutes
    CHECK(there(sound(), west, east) == at("09:00"));
    CHECK(there(sound(), east, west) == at("09:00"));
}

TEST_CASE("Changing to another ferry in the water waits for that ferry") {
    // the ferry of 08:00 is at the island's boat by 08:20, which leaves at 09:00 for 10 minutes
    CHECK(there(sound(), west, island) == at("09:10"));
    // the boat of 09:00 is there by 09:10, and the ferry goes on at 20:00, 40 minutes to the east
    CHECK(there(sound(), island, east) == at("20:40"));
}

TEST_CASE("Where ferries only cross each other nobody changes") {
    CHECK_FALSE(there(sound(), west, north));
    CHECK_FALSE(there(sound(), north, west));
}

TEST_CASE("A stop at a road is a place to board, and whoever stays on board does not wait there") {
    const std::string stop =
        sound(R"(<way id="110"><nd ref="3"/><nd ref="7"/><tag k="highway" v="primary"/></way>)");
    CHECK(there(stop, west, east) == at("09:00"));
    CHECK(there(stop, west, GeoPoint{Latitude{0}, Longitude{0.02}}) == at("08:20"));
    CHECK(there(stop, GeoPoint{Latitude{0}, Longitude{0.02}}, east) == at("08:40"));
}

TEST_CASE("A ferry with very many stops is waited for at each, and that is said") {
    std::string nodes;
    std::string refs;
    std::string piers;
    for (int stop = 0; stop < 20; ++stop) {
        const std::string number = std::to_string(stop);
        const std::string longitude = std::to_string(stop * 0.01);
        nodes += "<node id=\"" + std::to_string(100 + stop) + "\" lat=\"0\" lon=\"" + longitude +
                 "\"/><node id=\"" + std::to_string(200 + stop) + "\" lat=\"0.01\" lon=\"" +
                 longitude + "\"/>";
        refs += "<nd ref=\"" + std::to_string(100 + stop) + "\"/>";
        piers += "<way id=\"" + std::to_string(300 + stop) + "\"><nd ref=\"" +
                 std::to_string(100 + stop) + "\"/><nd ref=\"" + std::to_string(200 + stop) +
                 "\"/><tag k=\"highway\" v=\"service\"/></way>";
    }
    const ImportedMap map =
        import_osm_text("<?xml version='1.0'?><osm version=\"0.6\">" + nodes + "<way id=\"1\">" +
                            refs + "<tag k=\"route\" v=\"ferry\"/></way>" + piers + "</osm>",
                        "osm", speed_table());
    CHECK(map.network.ferries().size() == 19);
    CHECK(times(map.report.assumed,
                "way: a ferry with many stops, a wait counts at each of them") == 1);
}

TEST_CASE("A bollard at the landing lets those on foot through to the ferry") {
    const std::string map = R"(<?xml version='1.0' encoding='UTF-8'?>
<osm version="0.6">
  <node id="1" lat="0" lon="0"/>
  <node id="2" lat="0" lon="0.01"><tag k="barrier" v="bollard"/></node>
  <node id="4" lat="0" lon="0.04"/>
  <node id="5" lat="0" lon="0.05"/>
  <way id="100"><nd ref="2"/><nd ref="4"/><tag k="route" v="ferry"/><tag k="duration" v="60"/>
    <tag k="timetable" v="08:00,20:00"/></way>
  <way id="101"><nd ref="1"/><nd ref="2"/><tag k="highway" v="primary"/></way>
  <way id="102"><nd ref="4"/><nd ref="5"/><tag k="highway" v="primary"/></way>
</osm>
)";
    CHECK(there(map, west, east, Means::on_foot) == at("09:00"));
    CHECK_FALSE(there(map, west, east, Means::car));
}
