#include "routing/turn_restriction.hpp"

#include <doctest/doctest.h>

#include <filesystem>

#include "routing/components.hpp"
#include "routing/hierarchy_router.hpp"
#include "routing/network_builder.hpp"
#include "routing/network_file.hpp"
#include "routing/node_order.hpp"
#include "routing/reference_router.hpp"
#include "tests/support/ascii_district.hpp"
#include "vocabulary/error.hpp"

// Times follow from the drawings: one minute for each kilometre, that is each letter and stroke.
// What a restriction means: the page Relation:restriction of the OpenStreetMap wiki.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

/// A crossing of roads of 2 km, 3 km to the south.
const AsciiDistrict crossing{R"(
  N
  |
W-X-E
  |
  |
  S
)"};

/// From A over the short road BC to D or to E; a detour over F leads to C too.
const AsciiDistrict over_a_way{R"(
A-B---C-D
  |   |
  F---G-E
)"};

/// A place on the road, so far from its first letter.
PieceId piece_named(const RoadNetwork& network, std::string_view name) {
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        if (network.name_of(network.piece(PieceId{number})) == name) {
            return network.original(PieceId{number});
        }
    }
    return {};
}

Snap along(const AsciiDistrict& district, std::string_view road, std::uint32_t metres) {
    const auto network = district.network();
    const PieceId piece = piece_named(*network, road);
    const GeoPoint point = to_geo_point(network->point(network->piece(piece).from));
    return {point, {{piece, metres * 100, point, Metres{0}}}};
}

std::optional<Seconds> between(const std::shared_ptr<const Metric>& metric, const Snap& from,
                               const Snap& to) {
    const auto times = ReferenceRouter{metric}.travel_times({from, {}}, std::vector{to}, 100h);
    return times.front() ? std::optional(times.front()->typical) : std::nullopt;
}

std::optional<Seconds> between(const AsciiDistrict& district, const Snap& from, const Snap& to) {
    return between(district.metric(), from, to);
}

SpeedRules rules_of(Means means) {
    return {.means = means,
            .conditions = {},
            .on_road =
                [](const RoadAttributes&) {
                    return std::optional(RoadSpeed{.kilometres_per_hour = 60, .spread = 0s});
                },
            .off_road = {.kilometres_per_hour = 6, .spread = 0s},
            .off_road_detour = 1.3,
            .ferry_spread = 0s};
}

std::string roads(const std::optional<Route>& route) {
    std::string names;
    for (const Leg& leg : route.value().legs) {
        for (const Stretch& stretch : leg.stretches) {
            names += (names.empty() ? "" : " ") + stretch.road;
        }
    }
    return names;
}

}  // namespace

TEST_CASE("Where the turn is forbidden, the driver goes another way round") {
    CHECK(crossing.typical('W', 'N') == 4min);
    const AsciiDistrict banned = crossing.forbid("WXN");
    // on to E, round there and back to the crossing
    CHECK(banned.typical('W', 'N') == 8min);
    CHECK(roads(banned.route('W', 'N')) == "WX XE NX");
    CHECK(banned.route('W', 'N')->distance.value() == doctest::Approx(8000));
    CHECK(banned.typical('W', 'E') == 4min);
    CHECK(banned.typical('S', 'N') == 5min);
    CHECK(banned.typical('N', 'W') == 4min);
}

TEST_CASE("Nothing is copied but the junction where something is forbidden") {
    CHECK(crossing.network()->arrays().node_copies.empty());
    CHECK(crossing.network()->node_count() == 5);
    CHECK(crossing.network()->arc_count() == 8);
    const auto network = crossing.forbid("WXN").network();
    // X once more for those who come from W, with three roads for all and that to N for walkers
    CHECK(network->node_count() == 6);
    CHECK(network->arc_count() == 12);
    REQUIRE(network->arrays().node_copies.size() == 1);
    const NodeCopy pair = network->arrays().node_copies.front();
    CHECK(pair.original == crossing.node('X'));
    CHECK(network->point(pair.copy) == network->point(pair.original));
    CHECK(network->original(pair.copy) == pair.original);
    CHECK(network->original(crossing.node('N')) == crossing.node('N'));
    for (const PieceCopy& copy : network->arrays().piece_copies) {
        const Piece& piece = network->piece(copy.copy);
        const Piece& original = network->piece(copy.original);
        CHECK(network->name_of(piece) == network->name_of(original));
        CHECK(piece.length_cm == original.length_cm);
        CHECK(network->shape_of(piece) == network->shape_of(original));
    }
}

TEST_CASE("Who starts on the road that leads to the junction is bound like everybody there") {
    const AsciiDistrict banned = crossing.forbid("WXN");
    const Snap halfway = along(banned, "WX", 1000);
    CHECK(between(banned, halfway, banned.snap('N')) == 7min);
    CHECK(between(banned, halfway, banned.snap('E')) == 3min);
    // back the way there is no turn at all
    CHECK(between(banned, halfway, banned.snap('W')) == 1min);
}

TEST_CASE("Who starts at the junction itself leaves it by any road") {
    const AsciiDistrict banned = crossing.forbid("WXN");
    CHECK(banned.typical('X', 'N') == 2min);
    CHECK(between(banned, along(banned, "WX", 2000), banned.snap('N')) == 2min);
}

TEST_CASE("A place at the junction, or on the road before the turn, is reached all the same") {
    const AsciiDistrict banned = crossing.forbid("WXN");
    CHECK(banned.typical('W', 'X') == 2min);
    CHECK(between(banned, banned.snap('W'), along(banned, "WX", 1500)) == 90s);
    CHECK(between(banned, banned.snap('E'), along(banned, "WX", 1500)) == 150s);
}

TEST_CASE("A place on the road that may not be turned into is reached from the other side only") {
    const AsciiDistrict banned = crossing.forbid("WXN");
    // its road is entered at X from E: 2 + 2 + 2 + 1
    CHECK(between(banned, banned.snap('W'), along(banned, "NX", 1000)) == 7min);
    CHECK(between(banned, banned.snap('S'), along(banned, "NX", 1000)) == 4min);
}

TEST_CASE("A ban over a road binds those only who came along the first one") {
    CHECK(over_a_way.typical('A', 'D') == 8min);
    const AsciiDistrict banned = over_a_way.forbid("ABCD");
    CHECK(banned.typical('A', 'D') == 12min);
    CHECK(banned.typical('A', 'C') == 6min);
    CHECK(banned.typical('A', 'G') == 8min);
    CHECK(banned.typical('F', 'D') == 8min);
    CHECK(banned.typical('B', 'D') == 6min);
    CHECK(between(banned, along(banned, "AB", 1000), banned.snap('D')) == 11min);
    // on the road between the two turns nobody asks where one came from before the trip
    CHECK(between(banned, along(banned, "BC", 1000), banned.snap('D')) == 5min);
    CHECK(between(banned, banned.snap('A'), along(banned, "BC", 3000)) == 5min);
    CHECK(between(banned, banned.snap('A'), along(banned, "CD", 1000)) == 11min);
}

TEST_CASE("Who must go straight on may neither turn off nor turn back") {
    const AsciiDistrict ordered = crossing.require("WXE");
    CHECK(ordered.typical('W', 'E') == 4min);
    CHECK(ordered.typical('W', 'N') == 8min);
    CHECK(ordered.typical('W', 'S') == 9min);
    CHECK(ordered.typical('S', 'N') == 5min);
    SUBCASE("of two orders either may be followed") {
        const AsciiDistrict either = ordered.require("WXS");
        CHECK(either.typical('W', 'S') == 5min);
        CHECK(either.typical('W', 'E') == 4min);
        CHECK(either.typical('W', 'N') == 8min);
    }
    SUBCASE("an order over a road holds from its first junction on") {
        const AsciiDistrict over = over_a_way.require("ABCD");
        CHECK(over.typical('A', 'D') == 8min);
        // not down at B, not down at C: on to D and back to C
        CHECK(over.typical('A', 'G') == 12min);
        CHECK(over.typical('F', 'G') == 4min);
        CHECK(over.typical('B', 'G') == 6min);
    }
}

TEST_CASE("Turning round is allowed where nothing forbids it") {
    const AsciiDistrict banned = crossing.forbid("WXN");
    CHECK(roads(banned.route('W', 'N')) == "WX XE NX");
    SUBCASE("and where it is forbidden, one goes on to where it is not") {
        // 2 + 3 + 3 + 2 by S
        CHECK(banned.forbid("XEX").typical('W', 'N') == 10min);
    }
    SUBCASE("where it is forbidden everywhere, there is no way") {
        const AsciiDistrict stuck = banned.forbid("XEX").forbid("XSX").forbid("WXW");
        CHECK_FALSE(stuck.typical('W', 'N'));
        CHECK(stuck.typical('E', 'N') == 4min);
    }
}

TEST_CASE("A ban for vehicles does not bind people on foot") {
    const auto network = crossing.forbid("WXN").network();
    const auto on_foot = std::make_shared<const Metric>(network, rules_of(Means::on_foot));
    const auto by_car = std::make_shared<const Metric>(network, rules_of(Means::car));
    CHECK(between(on_foot, crossing.snap('W'), crossing.snap('N')) == 4min);
    CHECK(between(by_car, crossing.snap('W'), crossing.snap('N')) == 8min);
}

TEST_CASE("A closed road is closed for everybody, wherever they came from") {
    const AsciiDistrict banned = crossing.forbid("WXN");
    CHECK_FALSE(banned.close("XE").typical('W', 'E'));
    CHECK(banned.close("XE").typical('W', 'S') == 5min);
    CHECK_FALSE(banned.close("WX").typical('W', 'E'));
    CHECK_FALSE(banned.close("NX").typical('E', 'N'));
    const auto metric = banned.metric();
    const std::vector<PieceId> road{piece_named(metric->network(), "XE")};
    const auto around = std::make_shared<const Metric>(metric->without(road));
    CHECK_FALSE(between(around, banned.snap('W'), banned.snap('E')));
    ReferenceRouter reference{metric};
    CHECK_FALSE(reference.route_around({banned.snap('W'), {}}, banned.snap('E'), road));
}

TEST_CASE("A temporary link may be taken from wherever one came, and keeps the bans") {
    const AsciiDistrict banned = crossing.forbid("WXN");
    const TemporaryLink link{.id = "pontoon",
                             .from = banned.point('X'),
                             .to = banned.point('N'),
                             .kilometres_per_hour = 60,
                             .period = {},
                             .means = MeansSet::all(),
                             .reason = ""};
    const auto network = std::make_shared<const RoadNetwork>(
        with_links(*banned.network(), std::vector{link}, Metres{10}));
    const auto metric = std::make_shared<const Metric>(network, rules_of(Means::car));
    CHECK(between(metric, banned.snap('W'), banned.snap('N')) == 4min);
    CHECK(between(metric, banned.snap('N'), banned.snap('W')) == 4min);
    // without the link the ban stands
    const auto closed = std::make_shared<const Metric>(
        metric->without(std::vector{piece_named(*network, "pontoon")}));
    CHECK(between(closed, banned.snap('W'), banned.snap('N')) == 8min);
}

TEST_CASE("A ban changes nothing about what belongs together") {
    const auto plain = crossing.network();
    const auto banned = crossing.forbid("WXN").forbid("NXW").network();
    const ComponentReport before = report_components(*plain, 5);
    const ComponentReport after = report_components(*banned, 5);
    CHECK(after.nodes == before.nodes);
    CHECK(after.arcs == before.arcs);
    CHECK(after.nodes_in_largest == before.nodes_in_largest);
    CHECK(after.arcs_in_largest == before.arcs_in_largest);
    CHECK(after.length == before.length);
    CHECK(after.left_out_count == 0);
    for (std::uint32_t node = 0; node < banned->node_count(); ++node) {
        CHECK(banned->component(NodeId{node}).value == 0);
    }
}

TEST_CASE("A place beside a road with copies is put on the road, once") {
    const AsciiDistrict banned = crossing.forbid("WXN");
    const auto metric = banned.metric();
    const SnapIndex index{metric->shared_network()};
    const auto snap = index.snap(banned.beside('W', 1, 0.1), *metric);
    REQUIRE(snap);
    REQUIRE(snap->accesses.size() == 1);
    CHECK(snap->accesses.front().piece == piece_named(metric->network(), "WX"));
    CHECK(snap->accesses.front().off_road.value() == doctest::Approx(100).epsilon(0.01));
}

TEST_CASE("Bans survive being written to a file and read again") {
    const AsciiDistrict banned = crossing.forbid("WXN").forbid("SXEX");
    const auto path = std::filesystem::temp_directory_path() / "waybourne_turns_test.roads";
    write_network_file(path, *banned.network(), std::string(64, '0'));
    const NetworkFile file = NetworkFile::open(path);
    file.verify();
    const auto metric = std::make_shared<const Metric>(file.network(), rules_of(Means::car));
    for (const char from : {'W', 'N', 'E', 'S', 'X'}) {
        for (const char to : {'W', 'N', 'E', 'S', 'X'}) {
            CHECK(between(metric, banned.snap(from), banned.snap(to)) == banned.typical(from, to));
        }
    }
    std::filesystem::remove(path);
}

TEST_CASE("A restriction that is no chain of roads is refused") {
    NetworkBuilder builder;
    const NodeId a = builder.add_node({Latitude{0}, Longitude{0}});
    const NodeId b = builder.add_node({Latitude{0}, Longitude{0.01}});
    NewPiece piece;
    piece.from = a;
    piece.to = b;
    const std::uint32_t road = builder.add_piece(piece);
    CHECK_THROWS_AS(builder.forbid({{{road, true}}, MeansSet::all()}), InputError);
    CHECK_THROWS_AS(builder.forbid({{{road, true}, {road, true}}, MeansSet::all()}), InputError);
    CHECK_THROWS_AS(builder.require({{{road, true}, {road + 1, true}}, MeansSet::all()}),
                    InputError);
    CHECK_NOTHROW(builder.forbid({{{road, true}, {road, false}}, MeansSet::all()}));
    CHECK_THROWS_AS(builder.add_copy(NodeId{7}), InputError);
    piece.copy_of = 5;
    CHECK_THROWS_AS(builder.add_piece(piece), InputError);
}
