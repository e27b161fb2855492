#include "routing/osm_import.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <map>

#include "tests/routing/map_fixture.hpp"
#include "vocabulary/error.hpp"

// The meaning of the tags: wiki.openstreetmap.org, Key:access, Key:highway, Key:oneway,
// Key:barrier, Key:ford, Key:surface, Key:maxspeed, Key:seasonal, Relation:restriction, from
// memory; Tag:route=ferry as read there. What an emergency opens is our own rule.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

const std::string everybody = "foot motorcycle car 4wd";
const std::string vehicles = "motorcycle car 4wd";

struct Expected {
    std::string forward;
    std::string backward;
};

void check_directions(const RoadNetwork& network, const std::map<std::string, Expected>& table) {
    for (const auto& row : table) {
        const auto& [name, expected] = row;
        CAPTURE(row.first);
        const Piece& piece = piece_named(network, name);
        CHECK(who(network, piece.forward) == expected.forward);
        CHECK(who(network, piece.backward) == expected.backward);
    }
}

const RoadAttributes& road(const RoadNetwork& network, const std::string& name) {
    return network.attributes_of(piece_named(network, name));
}

/// Whether these means can get from the west end to the east end of a road cut in two by a barrier.
bool gets_through(const RoadNetwork& network, const std::string& name, Means means) {
    std::vector<NodeId> reached;
    double farthest_west = 400;
    double farthest_east = -400;
    NodeId east;
    NodeId west;
    for (const Piece& piece : network.pieces()) {
        if (network.name_of(piece) != name) {
            continue;
        }
        for (const NodeId node : {piece.from, piece.to}) {
            const double longitude = network.point(node).longitude;
            if (longitude > farthest_east || !east.exists()) {
                farthest_east = longitude;
                east = node;
            }
            if (longitude < farthest_west || !west.exists()) {
                farthest_west = longitude;
                west = node;
            }
        }
    }
    reached.push_back(west);
    for (std::size_t i = 0; i < reached.size(); ++i) {
        for (ArcId arc = network.first_arc(reached[i]); arc < network.end_arc(reached[i]);
             ++arc.value) {
            const NodeId head = network.head(arc);
            if (network.means(arc).has(means) &&
                std::find(reached.begin(), reached.end(), head) == reached.end()) {
                reached.push_back(head);
            }
        }
    }
    return std::find(reached.begin(), reached.end(), east) != reached.end();
}

std::string who_gets_through(const RoadNetwork& network, const std::string& name) {
    std::string result;
    for (const auto& [means, word] :
         {std::pair{Means::on_foot, "foot"}, std::pair{Means::motorcycle, "motorcycle"},
          std::pair{Means::car, "car"}, std::pair{Means::four_wheel_drive, "4wd"}}) {
        if (gets_through(network, name, means)) {
            result += result.empty() ? word : std::string{" "} + word;
        }
    }
    return result.empty() ? "nobody" : result;
}

}  // namespace

TEST_CASE("The map's access tags say who may use a road, and an emergency opens private ones") {
    const ImportedMap map = import_fixture("access");
    const auto both = [](const std::string& words) { return Expected{words, words}; };
    check_directions(map.network,
                     {{"nothing said", both(everybody)},
                      {"private but open to emergencies", both(vehicles)},
                      {"closed to motor vehicles", both("foot")},
                      {"closed to vehicles but not to motorcycles", both("foot motorcycle")},
                      {"customers only", both(everybody)},
                      {"forestry only", both("foot")},
                      {"forestry or destination", both(everybody)},
                      {"a word nobody knows", both(everybody)},
                      {"not on foot", both(vehicles)},
                      {"four-wheel drive only", both("foot motorcycle 4wd")},
                      {"no access but on foot", both("foot")}});
    CHECK(pieces_named(map.network, "access no") == 0);
    CHECK(pieces_named(map.network, "access private") == 0);
    CHECK(times(map.report.left_out, "way: closed to everybody by its access tags") == 2);
    CHECK(times(map.report.assumed, "way: an access value that is not known, ignored") == 1);
}

TEST_CASE("What holds at times or under conditions only is not followed, and every such way said") {
    const ImportedMap map = import_fixture("conditions");
    for (const Piece& piece : map.network.pieces()) {
        CAPTURE(map.network.name_of(piece));
        CHECK(who(map.network, piece.forward) == everybody);
        CHECK(who(map.network, piece.backward) == everybody);
    }
    const std::map<std::string, std::uint64_t> expected{
        {"way: conditional access, ignored", 4},
        {"way: conditional one-way, ignored", 1},
        {"way: conditional maxspeed, ignored", 1},
        {"way: maxspeed of one direction, ignored", 1},
        {"way: opening hours of a road, ignored", 1},
        {"way: an access value that is not known, ignored", 2},
        {"node: opening hours of a barrier, ignored", 1},
        {"node: conditional access of a barrier, ignored", 1},
        {"node: an access value that is not known, ignored", 1},
    };
    for (const auto& row : expected) {
        CAPTURE(row.first);
        CHECK(times(map.report.assumed, row.first) == row.second);
    }
    // `hgv:conditional` and `name:en` concern nobody here.
    CHECK(map.report.assumed.size() == expected.size());
}

TEST_CASE("A motorway is not for walkers, and a path not for cars") {
    const ImportedMap map = import_fixture("classes");
    const auto both = [](const std::string& words) { return Expected{words, words}; };
    check_directions(map.network, {{"motorway", both(vehicles)},
                                   {"trunk link", both(everybody)},
                                   {"motorroad", both(vehicles)},
                                   {"service drive", both(everybody)},
                                   {"emergency access", both(everybody)},
                                   {"track", both(everybody)},
                                   {"path", both("foot")},
                                   {"path open to motorcycles", both("foot motorcycle")},
                                   {"footway with access yes", both("foot")},
                                   {"steps open to emergencies", both("foot")},
                                   {"pedestrian street open to emergencies", both(everybody)},
                                   {"class not known", both(everybody)}});
    CHECK(road(map.network, "trunk link").kind.road_class == RoadClass::trunk);
    CHECK(road(map.network, "class not known").kind.road_class == RoadClass::unclassified);
    CHECK(road(map.network, "steps open to emergencies").kind.road_class == RoadClass::path);
}

TEST_CASE("Vehicles keep to one-way streets; on foot one may go against them") {
    const ImportedMap map = import_fixture("oneway");
    check_directions(map.network,
                     {{"both ways", {everybody, everybody}},
                      {"one way", {everybody, "foot"}},
                      {"one way, old style", {everybody, "foot"}},
                      {"against the line", {"foot", everybody}},
                      {"roundabout", {everybody, "foot"}},
                      {"roundabout both ways", {everybody, everybody}},
                      {"motorway", {vehicles, "nobody"}},
                      {"motorway link", {vehicles, vehicles}},
                      {"reversible", {"foot", "foot"}},
                      {"vehicles not along it", {"foot", everybody}},
                      {"vehicles not against it", {everybody, "foot"}},
                      {"motorcycles against it", {"foot", "foot motorcycle"}},
                      {"one way for vehicles with a motor", {everybody, "foot"}},
                      {"one way, but not for motorcycles", {everybody, "foot motorcycle"}},
                      {"alternating", {everybody, everybody}}});
    CHECK(times(map.report.assumed, "way: a one-way value that is not known, ignored") == 1);
}

TEST_CASE("What the ground is like is read from the map, and assumed where the map is silent") {
    const ImportedMap map = import_fixture("surface");
    const auto surface = [&](const std::string& name) {
        return road(map.network, name).kind.surface;
    };
    CHECK(surface("asphalt") == SurfaceClass::paved);
    CHECK(surface("gravel") == SurfaceClass::unpaved);
    CHECK(surface("mud") == SurfaceClass::earth);
    CHECK(surface("no surface, secondary") == SurfaceClass::paved);
    CHECK(surface("no surface, unclassified") == SurfaceClass::unpaved);
    CHECK(surface("no surface, track of grade 2") == SurfaceClass::unpaved);
    CHECK(surface("no surface, track of grade 5") == SurfaceClass::earth);
    CHECK(surface("a surface nobody knows") == SurfaceClass::unpaved);
    CHECK(road(map.network, "no surface, track of grade 5").kind.track_type == TrackType::grade5);
    CHECK(road(map.network, "very bad smoothness").kind.smoothness == Smoothness::very_bad);
    CHECK(road(map.network, "excellent smoothness").kind.smoothness == Smoothness::good);
    CHECK(times(map.report.assumed,
                "way: surface not known, assumed by track type or road class") == 1);
}

TEST_CASE("A speed limit is read in either unit, and ignored when it is no number") {
    const ImportedMap map = import_fixture("surface");
    const auto limit = [&](const std::string& name) {
        return int{road(map.network, name).kind.maxspeed_kmh};
    };
    CHECK(limit("limit 50") == 50);
    CHECK(limit("limit 30 mph") == 48);  // 30 × 1.609344 = 48.28
    CHECK(limit("limit none") == 0);
    CHECK(limit("limit absurd") == 0);
    CHECK(times(map.report.assumed, "way: maxspeed not a number, ignored") == 2);
}

TEST_CASE("Fords, bridges, tunnels and roads open part of the year are marked") {
    const ImportedMap map = import_fixture("marks");
    for (const auto& row : std::map<std::string, bool>{{"plain", false},
                                                       {"ford", true},
                                                       {"no ford", false},
                                                       {"old ford", true},
                                                       {"low-water crossing", true},
                                                       {"bridge", false}}) {
        CAPTURE(row.first);
        CHECK(road(map.network, row.first).is_ford == row.second);
    }
    for (const auto& row : std::map<std::string, bool>{{"plain", false},
                                                       {"seasonal", true},
                                                       {"dry season only", true},
                                                       {"not seasonal", false},
                                                       {"wet season only", false},
                                                       {"flood prone", true}}) {
        CAPTURE(row.first);
        CHECK(road(map.network, row.first).is_seasonal == row.second);
        CHECK(road(map.network, row.first).is_wet_season_only == (row.first == "wet season only"));
    }
    CHECK(road(map.network, "bridge").is_bridge);
    CHECK_FALSE(road(map.network, "plain").is_bridge);
    CHECK(road(map.network, "tunnel").is_tunnel);
    CHECK(road(map.network, "toll").is_toll);
}

TEST_CASE("Every way that is left out is counted under its reason, with examples to look at") {
    const ImportedMap map = import_fixture("left_out");
    CHECK(map.network.piece_count() == 1);
    CHECK(map.report.roads == 1);
    const std::vector<ImportRemark>& left_out = map.report.left_out;
    CHECK(times(left_out, "way: not built, or no longer there") == 1);
    CHECK(times(left_out, "way: a highway value that is no way to travel") == 1);
    CHECK(times(left_out, "way: a highway value that is not known") == 1);
    CHECK(times(left_out, "way: an area, not a line") == 1);
    CHECK(times(left_out, "way: a winter or ice road") == 2);
    CHECK(times(left_out, "way: closed to everybody by its access tags") == 1);
    CHECK(times(left_out, "way: reversible one-way for vehicles only") == 1);
    CHECK(left_out.front().reason == "way: a winter or ice road");  // the most frequent
    CHECK(left_out.front().examples == std::vector<std::int64_t>{105, 106});
}

TEST_CASE("A bollard stops cars, a locked gate everybody, an open gate nobody") {
    const ImportedMap map = import_fixture("barriers");
    for (const auto& row : std::map<std::string, std::string>{{"bollard", "foot motorcycle"},
                                                              {"gate", everybody},
                                                              {"locked gate", "nobody"},
                                                              {"private gate", "nobody"},
                                                              {"emergency gate", vehicles},
                                                              {"block", "foot motorcycle"},
                                                              {"cycle barrier", "foot"},
                                                              {"cattle grid", everybody},
                                                              {"open bollard", everybody},
                                                              {"unknown", everybody},
                                                              {"wall", "nobody"}}) {
        CAPTURE(row.first);
        CHECK(who_gets_through(map.network, row.first) == row.second);
    }
    CHECK(map.report.barriers == 7);
    CHECK(times(map.report.assumed, "node: a barrier that is not known, taken as open") == 1);
}

TEST_CASE("A locked gate where three roads meet keeps them apart") {
    const ImportedMap map = import_fixture("gate_at_junction");
    CHECK(map.network.piece_count() == 3);
    CHECK(map.report.components.left_out_count == 2);
    CHECK(who_gets_through(map.network, "through") == "nobody");
}

TEST_CASE("A ford drawn as a point closes the road on both its sides, and no more") {
    const ImportedMap map = import_fixture("ford_node");
    // 1--2 dry, 2--3--4 over the ford (one piece: nothing changes at the ford itself), 4--5 dry.
    REQUIRE(map.network.piece_count() == 3);
    std::size_t fords = 0;
    double ford_length_cm = 0;
    for (const Piece& piece : map.network.pieces()) {
        if (map.network.attributes_of(piece).is_ford) {
            ++fords;
            ford_length_cm += piece.length_cm;
        }
    }
    CHECK(fords == 1);
    CHECK(ford_length_cm / 100 == doctest::Approx(2 * 1111.95).epsilon(0.001));
    CHECK(map.report.fords == 1);
}

TEST_CASE("A road is one piece from junction to junction and keeps its shape") {
    const ImportedMap map = import_fixture("shape");
    const RoadNetwork& network = map.network;
    CHECK(pieces_named(network, "long road") == 2);
    CHECK(pieces_named(network, "cross road") == 2);
    CHECK(network.piece_count() == 6);
    CHECK(network.node_count() == 5);  // both ends of both roads, and the crossing
    for (const Piece& piece : network.pieces()) {
        if (network.name_of(piece) == "long road") {
            CHECK(piece.road == RoadId{100});
            const std::vector<FixedPoint> shape = network.shape_of(piece);
            REQUIRE(shape.size() == 3);
            // Half a hundredth of a degree along, a thousandth aside: node 2 or node 4.
            CHECK(std::abs(shape[1].latitude) == 10'000);
            CHECK(shape[1].longitude % 100'000 == 50'000);
            // Two legs of √(556.0² + 111.2²) = 567.0 m, on a sphere of 6371008.8 m.
            CHECK(piece.length_cm / 100.0 == doctest::Approx(2 * 567.0).epsilon(0.001));
        }
    }
}

TEST_CASE("A road without a name goes by its number") {
    const ImportedMap map = import_fixture("shape");
    CHECK(piece_named(map.network, "M7").road == RoadId{102});
    CHECK(piece_named(map.network, "").road == RoadId{103});
}

TEST_CASE("Rings and ways that cross themselves are cut where they meet themselves") {
    const ImportedMap map = import_fixture("ring");
    // The ring meets the approach at node 1 and the loop at node 2.
    CHECK(pieces_named(map.network, "ring") == 2);
    CHECK(pieces_named(map.network, "approach") == 1);
    CHECK(pieces_named(map.network, "loop") == 2);
    CHECK(map.report.components.left_out_count == 0);
}

TEST_CASE("At the edge of the map a road ends, and what is missing is counted") {
    const ImportedMap map = import_fixture("missing_nodes");
    CHECK(pieces_named(map.network, "cut in two") == 2);
    CHECK(pieces_named(map.network, "cut short") == 0);
    CHECK(map.report.missing_nodes == 4);
    CHECK(times(map.report.left_out, "way: fewer than two of its nodes are in the file") == 2);
    CHECK(map.report.roads == 1);
}

TEST_CASE("A file with ways before their nodes is refused, and the reader told to sort it") {
    CHECK_THROWS_WITH_AS(import_fixture("unsorted"),
                         doctest::Contains("stands after a way that runs over it; sort the file"),
                         InputError);
}

TEST_CASE("Two maps joined into one file are read, each road once") {
    const ImportedMap map = import_fixture("joined");
    CHECK(map.network.piece_count() == 2);
    CHECK(times(map.report.left_out, "way: stands twice in the file") == 1);
}

TEST_CASE("An island is a part of the network, not an error") {
    const ImportedMap map = import_fixture("islands");
    CHECK(map.network.piece_count() == 3);
    CHECK(map.report.components.nodes == 5);
    CHECK(map.report.components.nodes_in_largest == 3);
    REQUIRE(map.report.components.left_out_count == 1);
    CHECK(map.report.components.left_out.front().nodes == 2);
}

TEST_CASE("A road across the 180th meridian is as long as it is, not once around the earth") {
    const ImportedMap map = import_fixture("date_line");
    // 0.02° of the equator on a sphere of 6371008.8 m: 2223.9 m.
    CHECK(piece_named(map.network, "date line road").length_cm / 100.0 ==
          doctest::Approx(2223.9).epsilon(0.0001));
}

TEST_CASE("A ferry has a crossing time and, if the map knows them, its sailings") {
    const ImportedMap map = import_fixture("ferries");
    const auto ferry = [&](const std::string& name) -> const Ferry& {
        const Piece& piece = piece_named(map.network, name);
        REQUIRE(piece.is_ferry());
        return map.network.ferries()[piece.ferry];
    };
    SUBCASE("no times: its speed and a wait are assumed, both from the speed table") {
        // 1112 m at 8 km/h: 500.4 s, rounded up, and five minutes of boarding.
        CHECK(ferry("no times").crossing == 5min + 501s);
        CHECK_FALSE(ferry("no times").timetable);
        CHECK(ferry("no times").assumed_wait == 30min);
    }
    SUBCASE("every half hour from six to six: 25 sailings a day, all week") {
        REQUIRE(ferry("every half hour").timetable);
        CHECK(ferry("every half hour").crossing == 12min);
        CHECK(ferry("every half hour").timetable->sailings().size() == 7 * 25);
        CHECK(ferry("every half hour").assumed_wait == 0s);
    }
    SUBCASE("our own timetable tag: three sailings on five days and one on Saturday") {
        REQUIRE(ferry("own timetable").timetable);
        CHECK(ferry("own timetable").timetable->sailings().size() == 16);
        CHECK(ferry("own timetable").timetable->zone() == "Pacific/Fiji");
    }
    SUBCASE("hours that are not understood are said to be so, and a wait is assumed") {
        CHECK_FALSE(ferry("hours not understood").timetable);
        CHECK(ferry("hours not understood").assumed_wait == 30min);
        CHECK(times(map.report.assumed,
                    "way: a ferry's timetable is not understood, a wait is assumed") == 3);
    }
    SUBCASE("a page's address instead of a timetable leaves the hours beside it to be read") {
        REQUIRE(ferry("page and hours").timetable);
        CHECK(ferry("page and hours").timetable->sailings().size() == 7 * 25);
        CHECK(times(map.report.assumed,
                    "way: a ferry's timetable is not understood, its opening hours count") == 1);
    }
    SUBCASE("an interval beside hours that are not understood counts where it means more waiting") {
        CHECK(ferry("yes and no hours").assumed_wait == 60min);  // half of two hours
        CHECK(ferry("short interval, hours not understood").assumed_wait == 30min);
    }
    SUBCASE("hourly by day and night is 24 departures a day, the first at midnight: remarked") {
        REQUIRE(ferry("hourly, day and night").timetable);
        CHECK(ferry("hourly, day and night").timetable->sailings().size() == 7 * 24);
        CHECK(times(map.report.assumed,
                    "way: a ferry's timetable: 24/7 with an interval is taken as departures from "
                    "00:00 on (assumption)") == 1);
    }
    SUBCASE("a crossing time that is not understood") {
        CHECK(ferry("duration not understood").crossing == 5min + 501s);
        CHECK(times(map.report.assumed,
                    "way: a ferry's duration is not understood, its speed is assumed") == 1);
    }
    SUBCASE("only an interval: half of it is the mean wait of whoever comes at any moment") {
        CHECK(ferry("interval alone").assumed_wait == 10min);
        CHECK(ferry("once a day, nobody knows when").assumed_wait == 12h);
        CHECK(times(map.report.assumed,
                    "way: a ferry that sails seldom, at hours that are not known: nearly the whole "
                    "interval counts as waiting") == 1);
    }
    SUBCASE("no sailing in the wet, or in the dry") {
        CHECK_FALSE(ferry("dry season only").sails_when_wet);
        CHECK(ferry("dry season only").sails_when_dry);
        CHECK(ferry("wet season only").sails_when_wet);
        CHECK_FALSE(ferry("wet season only").sails_when_dry);
        CHECK(ferry("duration").sails_when_wet);
        CHECK(ferry("duration").sails_when_dry);
    }
    SUBCASE("public holidays are left out, and that is said") {
        CHECK(ferry("public holidays too").timetable);
        CHECK(times(map.report.assumed,
                    "way: a ferry's timetable: what is said of public holidays is left out") == 1);
    }
    SUBCASE("who may board") {
        check_directions(map.network, {{"duration", {everybody, everybody}},
                                       {"on foot only", {"foot", "foot"}},
                                       {"one way", {everybody, "nobody"}}});
        CHECK(pieces_named(map.network, "private") == 0);
    }
    CHECK(map.report.ferries == 17);
}

TEST_CASE("A time zone that does not exist is refused, rather than every timetable lost") {
    const std::string fixture = WAYBOURNE_SOURCE_DIR "/tests/routing/fixtures/ferries.osm";
    const ImportSettings settings{.time_zone = "Pacific/Figi", .examples = 5};
    CHECK_THROWS_WITH_AS(import_osm(fixture, speed_table(), settings),
                         doctest::Contains("Pacific/Figi"), InputError);
    CHECK_THROWS_AS(import_osm_text(file_content(fixture), "osm", speed_table(), settings),
                    InputError);
}

TEST_CASE(
    "Each part of a ferry with a stop takes its share of the crossing, staying on board all") {
    const ImportedMap map = import_fixture("ferry_stop");
    std::vector<Seconds> crossings;
    for (const Ferry& ferry : map.network.ferries()) {
        crossings.push_back(ferry.crossing);
    }
    std::sort(crossings.begin(), crossings.end());
    REQUIRE(crossings.size() == 3);
    CHECK(crossings[2] == 30min);
    // A third and two thirds of 30 minutes, rounded up to a second.
    CHECK(crossings[0] >= 10min);
    CHECK(crossings[0] <= 10min + 1s);
    CHECK(crossings[1] >= 20min);
    CHECK(crossings[1] <= 20min + 1s);
}

TEST_CASE("Rivers and canals are kept to be drawn, and change nothing about the roads") {
    const ImportedMap map = import_fixture("rivers");
    REQUIRE(map.rivers.size() == 2);
    CHECK(map.rivers[0] ==
          River{"Ishuvel", {{10100000, 9900000}, {10100000, 10000000}, {10100000, 10200000}}});
    // cut where the file has no node
    CHECK(map.rivers[1] == River{"", {{10300000, 10300000}, {10400000, 10400000}}});
    // a river that shares a node with a road makes no junction of it
    CHECK(map.network.piece_count() == 1);
    CHECK(map.report.roads == 1);
}

TEST_CASE("Places of care on the map are a first draft of the registry") {
    const ImportedMap map = import_fixture("health_sites");
    REQUIRE(map.health_sites.size() == 3);
    CHECK(map.health_sites[0] == HealthSite{GeoPoint{Latitude{1}, Longitude{1}},
                                            "Invented Hospital", "hospital", "node/3"});
    CHECK(map.health_sites[1].kind == "midwife");
    CHECK(map.health_sites[1].name.empty());
    CHECK(map.health_sites[2].osm_id == "way/101");
    CHECK(map.health_sites[2].point.latitude().degrees == doctest::Approx(2.01));
    CHECK(map.health_sites[2].point.longitude().degrees == doctest::Approx(2.01));
    CHECK(times(map.report.left_out, "way: a place of care without a node in the file") == 1);
    CHECK(times(map.report.left_out, "relation: a place of care, only nodes and ways are read") ==
          1);
}

TEST_CASE("A file that is no map, is damaged or is not there is refused with its name") {
    const auto import_text = [](const std::string& text, const std::string& format) {
        return import_osm_text(text, format, speed_table());
    };
    CHECK_THROWS_WITH_AS(import_fixture("not_there"), doctest::Contains("not_there.osm"),
                         InputError);
    CHECK_THROWS_WITH_AS(import_fixture("no_roads"), doctest::Contains("no road in this file"),
                         InputError);
    CHECK_THROWS_AS(import_text("", "osm"), InputError);
    CHECK_THROWS_AS(import_text("", "osm.pbf"), InputError);
    CHECK_THROWS_AS(import_text("a photograph", "osm"), InputError);
    CHECK_THROWS_AS(import_text("a photograph", "osm.pbf"), InputError);
    CHECK_THROWS_AS(import_text("<osm version=\"0.6\"><node id=\"1\"", "osm"), InputError);
    CHECK_THROWS_AS(import_text("<osm version=\"0.5\"></osm>", "osm"), InputError);
    CHECK_THROWS_WITH_AS(import_text("<osmChange version=\"0.6\"></osmChange>", "osm"),
                         doctest::Contains("history or change file"), InputError);
    // Found by the fuzz target; there the first byte chooses the form.
    std::ifstream seed{WAYBOURNE_SOURCE_DIR "/tests/fuzz/seeds/osm_fuzz/zero_byte_in_tag"};
    seed.get();
    CHECK_THROWS_WITH_AS(import_text({std::istreambuf_iterator<char>(seed), {}}, "osm.pbf"),
                         doctest::Contains("a zero byte inside a key or value"), InputError);
}

TEST_CASE("An import can be stopped, and tells how far it has come") {
    const std::string path =
        std::string{WAYBOURNE_SOURCE_DIR} + "/tests/routing/fixtures/access.osm";
    std::stop_source stop;
    stop.request_stop();
    CHECK_THROWS_AS(import_osm(path, speed_table(), {}, {}, stop.get_token()), Unavailable);
    std::vector<std::string> doings;
    import_osm(path, speed_table(), {}, [&](std::string_view doing, double share) {
        CHECK(share <= 1.0);
        doings.emplace_back(doing);
    });
    REQUIRE(doings.size() >= 3);
    CHECK(doings.front() == "reading ways");
    CHECK(doings.back() == "building the network");
}

TEST_CASE("The same file gives the same network") {
    const RoadNetwork first = import_fixture("barriers").network;
    const RoadNetwork second = import_fixture("barriers").network;
    REQUIRE(first.piece_count() == second.piece_count());
    CHECK(std::equal(first.pieces().begin(), first.pieces().end(), second.pieces().begin()));
}
