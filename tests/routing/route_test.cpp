#include "routing/route.hpp"

#include <doctest/doctest.h>

#include "routing/network_builder.hpp"
#include "routing/reference_router.hpp"
#include "routing/snap.hpp"
#include "tests/support/ascii_district.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

/// Within a metre.
bool is_at(const GeoPoint& point, const GeoPoint& expected) {
    return great_circle_distance(point, expected).value() < 1;
}

/// Legs end where the next begins, and their typical times and distances add up to the route's.
void check_sums(const Route& route) {
    Seconds typical{};
    Metres distance;
    for (std::size_t i = 0; i < route.legs.size(); ++i) {
        const Leg& leg = route.legs[i];
        typical += leg.travel_time.typical;
        distance += leg.distance;
        CHECK(leg.travel_time.typical <= leg.travel_time.allow);
        Seconds by_stretch{};
        for (const Stretch& stretch : leg.stretches) {
            by_stretch += stretch.typical;
        }
        CHECK(by_stretch == leg.travel_time.typical);
        if (i > 0) {
            CHECK(is_at(leg.line.front(), route.legs[i - 1].line.back()));
        }
    }
    CHECK(typical == route.travel_time.typical);
    CHECK(distance.value() == doctest::Approx(route.distance.value()));
}

}  // namespace

TEST_CASE("The way is told road by road, with the ferry and the wait for it") {
    const auto district = ascii_district(R"(
        C---B--------H
        |            |
        F~~~~~~~~~~~~G
    )")
                              .ferry("FG", {.crosses = 10min, .leaves_every = 30min})
                              .close("BH");
    const auto route = district.route('C', 'H', Instant{6h});
    REQUIRE(route);
    REQUIRE(route->legs.size() == 3);
    CHECK(route->travel_time == TravelTime{42min, 42min});
    CHECK(route->distance == Metres{17'000});
    CHECK(route->legs[0].means == Means::car);
    CHECK(route->legs[0].stretches ==
          std::vector<Stretch>{{"CF", "secondary", Metres{2000}, 2min}});
    CHECK(route->legs[1].means == Means::ferry);
    CHECK(route->legs[1].wait == 28min);
    CHECK(route->legs[1].travel_time.typical == 38min);
    CHECK_FALSE(route->legs[1].is_assumed);
    CHECK(route->legs[2].stretches ==
          std::vector<Stretch>{{"HG", "secondary", Metres{2000}, 2min}});
    check_sums(*route);
    const auto line = route->line();
    REQUIRE(line.size() == 4);
    CHECK(is_at(line[0], district.point('C')));
    CHECK(is_at(line[1], district.point('F')));
    CHECK(is_at(line[2], district.point('G')));
    CHECK(is_at(line[3], district.point('H')));
}

TEST_CASE("A ferry whose hours nobody knows is told as assumed") {
    const auto route = ascii_district("C--F~~~G--H").route('C', 'H');
    REQUIRE(route);
    REQUIRE(route->legs.size() == 3);
    CHECK(route->legs[1].is_assumed);
    CHECK(route->legs[1].wait == 0min);
    CHECK(route->travel_time.typical == 10min);
}

TEST_CASE("Walking to the road and from it are legs of their own, and assumed") {
    const auto district = ascii_district("A---------B");
    const auto metric = district.metric();
    const SnapIndex index(district.network());
    const auto from = index.snap(district.beside('A', 2, 0.5), *metric);
    const auto to = index.snap(district.beside('A', 8, -1), *metric);
    REQUIRE(from);
    REQUIRE(to);
    const auto route = ReferenceRouter(metric).route({*from, {}}, *to);
    REQUIRE(route);
    REQUIRE(route->legs.size() == 3);
    CHECK(route->legs[0].means == Means::on_foot);
    CHECK(route->legs[0].is_assumed);
    // 0.5 and 1 km × 1.3 at 6 km/h: 6.5 and 13 minutes; between them 6 km at 60 km/h.
    CHECK(route->legs[0].travel_time.typical.count() == doctest::Approx(390).epsilon(0.01));
    CHECK(route->legs[0].distance.value() == doctest::Approx(650).epsilon(1e-4));
    CHECK(route->legs[1].distance.value() == doctest::Approx(6000).epsilon(1e-4));
    CHECK(route->legs[2].travel_time.typical.count() == doctest::Approx(780).epsilon(0.01));
    CHECK(is_at(route->line().front(), district.beside('A', 2, 0.5)));
    CHECK(is_at(route->line()[1], district.beside('A', 2, 0)));
    CHECK(is_at(route->line()[2], district.beside('A', 8, 0)));
    CHECK(is_at(route->line().back(), district.beside('A', 8, -1)));
    check_sums(*route);
    const Snap& target = *to;
    CHECK(ReferenceRouter(metric).travel_times({*from, {}}, std::span(&target, 1),
                                               Seconds::max())[0] == route->travel_time);
}

TEST_CASE("Pieces of one road are one stretch, and the line follows its bends both ways") {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    const auto at = [](double latitude, double longitude) {
        return GeoPoint{Latitude{latitude}, Longitude{longitude}};
    };
    const auto road = [&](NodeId from, NodeId to, const char* name, std::vector<GeoPoint> shape) {
        NewPiece piece;
        piece.from = from;
        piece.to = to;
        piece.name = name;
        piece.shape = std::move(shape);
        piece.attributes.kind.road_class = RoadClass::track;
        builder.add_piece(piece);
    };
    const NodeId a = builder.add_node(at(0, 0));
    const NodeId b = builder.add_node(at(0, 0.02));
    const NodeId c = builder.add_node(at(0, 0.04));
    const NodeId d = builder.add_node(at(0, 0.06));
    road(a, b, "Hill Road", {at(0.01, 0.01)});
    road(c, b, "Hill Road", {at(0.01, 0.03)});
    road(c, d, "", {});
    const auto network = std::make_shared<const RoadNetwork>(builder.build());
    SpeedRules rules;
    rules.on_road = [](const RoadAttributes&) { return RoadSpeed{60, 0s}; };
    rules.off_road = {6, 0s};
    const auto metric = std::make_shared<const Metric>(network, rules);
    const SnapIndex index(network);
    const auto from = index.snap(at(0.005, 0.005), *metric);
    const auto to = index.snap(at(0, 0.05), *metric);
    REQUIRE(from);
    REQUIRE(to);
    ReferenceRouter router(metric);
    const auto route = router.route({*from, {}}, *to);
    REQUIRE(route);
    REQUIRE(route->legs.size() == 1);
    REQUIRE(route->legs[0].stretches.size() == 2);
    CHECK(route->legs[0].stretches[0].road == "Hill Road");
    CHECK(route->legs[0].stretches[1].road.empty());
    CHECK(route->legs[0].stretches[1].road_class == "track");
    const std::vector<GeoPoint> expected{at(0.005, 0.005), at(0.01, 0.01), at(0, 0.02),
                                         at(0.01, 0.03),   at(0, 0.04),    at(0, 0.05)};
    const auto line = route->line();
    REQUIRE(line.size() == expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) {
        CAPTURE(i);
        CHECK(is_at(line[i], expected[i]));
    }
    auto back = router.route({*to, {}}, *from);
    REQUIRE(back);
    auto reversed = back->line();
    std::reverse(reversed.begin(), reversed.end());
    REQUIRE(reversed.size() == expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) {
        CAPTURE(i);
        CHECK(is_at(reversed[i], expected[i]));
    }
    check_sums(*route);
    check_sums(*back);
}

TEST_CASE("A road across the 180th meridian is drawn the short way") {
    NetworkBuilder builder;
    NewPiece piece;
    piece.from = builder.add_node({Latitude{-17}, Longitude{179.99}});
    piece.to = builder.add_node({Latitude{-17}, Longitude{-179.97}});
    builder.add_piece(piece);
    const auto network = std::make_shared<const RoadNetwork>(builder.build());
    SpeedRules rules;
    rules.on_road = [](const RoadAttributes&) { return RoadSpeed{60, 0s}; };
    rules.off_road = {6, 0s};
    const auto metric = std::make_shared<const Metric>(network, rules);
    const SnapIndex index(network);
    const auto from = index.snap({Latitude{-17}, Longitude{179.995}}, *metric);
    const auto to = index.snap({Latitude{-17}, Longitude{-179.98}}, *metric);
    const auto route = ReferenceRouter(metric).route({from.value(), {}}, to.value());
    REQUIRE(route);
    // 0.025° at 17° south: 2.66 km.
    CHECK(route->distance.value() == doctest::Approx(2658.5).epsilon(0.001));
    for (const GeoPoint& point : route->line()) {
        CHECK(std::abs(point.longitude().degrees) > 179.97);
    }
}

TEST_CASE("There already is a route of no legs; no way is no route") {
    const auto district = ascii_district("A--B  C--D");
    REQUIRE(district.route('A', 'A'));
    CHECK(district.route('A', 'A')->legs.empty());
    CHECK(district.route('A', 'A')->travel_time == TravelTime{});
    CHECK_FALSE(district.route('A', 'C'));
}

TEST_CASE("Means of transport have names for the wire") {
    CHECK(to_name(Means::on_foot) == "on_foot");
    CHECK(to_name(Means::four_wheel_drive) == "four_wheel_drive");
    CHECK(to_name(Means::ferry) == "ferry");
}
