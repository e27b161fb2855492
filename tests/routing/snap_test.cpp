#include "routing/snap.hpp"

#include <doctest/doctest.h>

#include <GeographicLib/Geodesic.hpp>
#include <cmath>
#include <random>

#include "routing/network_builder.hpp"
#include "routing/reference_router.hpp"
#include "tests/support/ascii_district.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

GeoPoint at(double latitude, double longitude) {
    return {Latitude{latitude}, Longitude{longitude}};
}

bool any_piece(const Piece& /*piece*/) {
    return true;
}

/// One straight road.
std::shared_ptr<const RoadNetwork> one_road(const GeoPoint& from, const GeoPoint& to) {
    NetworkBuilder builder;
    NewPiece piece;
    piece.from = builder.add_node(from);
    piece.to = builder.add_node(to);
    builder.add_piece(piece);
    return std::make_shared<const RoadNetwork>(builder.build());
}

double geodesic_metres(const GeoPoint& a, const GeoPoint& b) {
    double metres = 0;
    GeographicLib::Geodesic::WGS84().Inverse(a.latitude().degrees, a.longitude().degrees,
                                             b.latitude().degrees, b.longitude().degrees, metres);
    return metres;
}

/// The slow and obvious way: the nearest of many points along the straight line in degrees.
double nearest_by_trying(const GeoPoint& point, const GeoPoint& from, const GeoPoint& to) {
    double nearest = 1e9;
    for (int i = 0; i <= 2000; ++i) {
        const double share = i / 2000.0;
        const auto mixed = [&](double a, double b) { return a + share * (b - a); };
        nearest = std::min(nearest,
                           great_circle_distance(
                               point, at(mixed(from.latitude().degrees, to.latitude().degrees),
                                         mixed(from.longitude().degrees, to.longitude().degrees)))
                               .value());
    }
    return nearest;
}

}  // namespace

TEST_CASE("A clinic beside a road gets onto it at the nearest point, not at the nearest crossing") {
    const auto district = ascii_district("A---------B");
    const SnapIndex index(district.network());
    const auto snap = index.snap(district.beside('A', 4, 1), *district.metric());
    REQUIRE(snap);
    REQUIRE(snap->accesses.size() == 1);
    CHECK(snap->point == district.beside('A', 4, 1));
    CHECK(snap->accesses[0].along_cm == doctest::Approx(400'000).epsilon(1e-5));
    CHECK(snap->accesses[0].off_road.value() == doctest::Approx(1000).epsilon(1e-5));
    CHECK(great_circle_distance(snap->accesses[0].on_road, district.beside('A', 4, 0)).value() <
          0.1);
}

TEST_CASE("Farther off the road than the limit is off the map") {
    const auto district = ascii_district("A--B");
    const SnapIndex index(district.network());
    CHECK(index.snap(district.beside('A', 0, 4.99), any_piece));
    CHECK_FALSE(index.snap(district.beside('A', 0, 5.01), any_piece));
    CHECK(index.snap(district.beside('A', 0, 5.01), any_piece, {.limit = Metres{6000}}));
}

TEST_CASE("A closed road is passed over for one she can use, and a ferry is no road") {
    const auto district = ascii_district(R"(
        A---B
        :
        C---D
        :
        E---F
    )")
                              .close("CD");
    const SnapIndex index(district.network());
    const auto snap = index.snap(district.beside('C', 2, -0.1), *district.metric());
    REQUIRE(snap);
    CHECK(district.network()->name_of(district.network()->piece(snap->accesses[0].piece)) == "EF");
    CHECK(snap->accesses[0].off_road.value() == doctest::Approx(1900).epsilon(1e-4));
}

TEST_CASE("Nothing to get onto is no snap") {
    const SnapIndex empty(std::make_shared<const RoadNetwork>(NetworkBuilder{}.build()));
    CHECK_FALSE(empty.snap(at(0, 0), any_piece));
    const auto district = ascii_district("A--B");
    CHECK_FALSE(SnapIndex(district.network()).snap(district.point('A'), [](const Piece&) {
        return false;
    }));
}

TEST_CASE("A gap in the map beside the house does not cut her off, an island does") {
    // P-Q is a scrap of two places 100 m from the main road; one way in is tried beside the other.
    const auto district = ascii_district(R"(
        A----B----C----D

        P-Q
    )");
    const auto network = district.network();
    const SnapIndex index(network);
    const auto near_scrap = district.beside('P', 1, 0.95);
    const SnapSettings settings{
        .limit = Metres{5000}, .fewest_nodes = 3, .detour_to_largest = Metres{200}};
    const auto snap = index.snap(near_scrap, any_piece, settings);
    REQUIRE(snap);
    REQUIRE(snap->accesses.size() == 2);
    CHECK(network->name_of(network->piece(snap->accesses[0].piece)) == "PQ");
    CHECK(network->name_of(network->piece(snap->accesses[1].piece)) == "AB");
    const Snap target = district.snap('D');
    const auto times = ReferenceRouter(district.metric())
                           .travel_times({*snap, {}}, std::span(&target, 1), Seconds::max());
    // 1.05 km × 1.3 on foot at 6 km/h: 819 s; then 14 km at 60 km/h.
    REQUIRE(times[0]);
    CHECK(times[0]->typical.count() == doctest::Approx(819 + 840).epsilon(1e-3));
    SUBCASE("a part of as many places as an island has is taken for an island") {
        SnapSettings island = settings;
        island.fewest_nodes = 2;
        CHECK(index.snap(near_scrap, any_piece, island)->accesses.size() == 1);
    }
    SUBCASE("the main road too far off is not walked to") {
        CHECK(index.snap(district.beside('P', 1, 0.8), any_piece, settings)->accesses.size() == 1);
    }
}

TEST_CASE("The 180th meridian is no edge") {
    const auto network = one_road(at(-17, 179.99), at(-17, -179.99));
    const SnapIndex index(network);
    // In the middle of a road of 2.13 km, 0.001° north of it.
    for (const double longitude : {180.0, -180.0}) {
        const auto snap = index.snap(at(-16.999, longitude), any_piece);
        REQUIRE(snap);
        CHECK(snap->accesses[0].along_cm ==
              doctest::Approx(network->piece(PieceId{0}).length_cm / 2.0).epsilon(1e-3));
        CHECK(snap->accesses[0].off_road.value() == doctest::Approx(111.2).epsilon(1e-3));
        CHECK(std::abs(snap->accesses[0].on_road.longitude().degrees) > 179.999);
    }
}

TEST_CASE("Near the pole the nearest road may be on the other side of it") {
    const auto network = one_road(at(89.99, 0), at(89.98, 0));
    const auto snap = SnapIndex(network).snap(at(89.99, 180), any_piece);
    REQUIRE(snap);
    CHECK(snap->accesses[0].off_road.value() == doctest::Approx(2 * 1111.95).epsilon(1e-4));
}

TEST_CASE("A road of no length can be stepped onto") {
    const auto network = one_road(at(1, 1), at(1, 1));
    const auto snap = SnapIndex(network).snap(at(1.001, 1), any_piece);
    REQUIRE(snap);
    CHECK(snap->accesses[0].along_cm == 0);
    CHECK(snap->accesses[0].off_road.value() == doctest::Approx(111.2).epsilon(1e-3));
}

TEST_CASE("Among random bent roads the nearest is found as by trying them all") {
    std::mt19937 random(3);
    std::uniform_real_distribution<double> degrees(0, 0.05);
    const auto somewhere = [&] { return at(-13 + degrees(random), 33 + degrees(random)); };
    NetworkBuilder builder;
    builder.keep_node_order(true);
    std::vector<std::vector<GeoPoint>> shapes;
    for (int i = 0; i < 25; ++i) {
        const std::vector<GeoPoint> shape{somewhere(), somewhere(), somewhere()};
        NewPiece piece;
        piece.from = builder.add_node(shape.front());
        piece.to = builder.add_node(shape.back());
        piece.shape = {shape[1]};
        builder.add_piece(piece);
        shapes.push_back(shape);
    }
    const auto network = std::make_shared<const RoadNetwork>(builder.build());
    const SnapIndex index(network);
    for (int i = 0; i < 30; ++i) {
        const GeoPoint point = somewhere();
        double expected = 1e9;
        for (const auto& shape : shapes) {
            expected = std::min({expected, nearest_by_trying(point, shape[0], shape[1]),
                                 nearest_by_trying(point, shape[1], shape[2])});
        }
        const auto snap = index.snap(point, any_piece, {.limit = Metres{100'000}});
        REQUIRE(snap);
        // Straight in space and straight in degrees differ by decimetres over 5 km.
        CHECK(snap->accesses[0].off_road.value() ==
              doctest::Approx(expected).epsilon(0.001).scale(1000));
        CHECK(great_circle_distance(point, snap->accesses[0].on_road) ==
              snap->accesses[0].off_road);
    }
}

TEST_CASE("How far along a road she gets onto it agrees with the ellipsoid within 0.6 %") {
    std::mt19937 random(4);
    std::uniform_real_distribution<double> degrees(-0.05, 0.05);
    for (int i = 0; i < 200; ++i) {
        const GeoPoint from = at(-13 + degrees(random), 33 + degrees(random));
        const GeoPoint to = at(-13 + degrees(random), 33 + degrees(random));
        const GeoPoint beside = at(-13 + degrees(random), 33 + degrees(random));
        const auto network = one_road(from, to);
        const auto snap = SnapIndex(network).snap(beside, any_piece, {.limit = Metres{50'000}});
        REQUIRE(snap);
        const Access& access = snap->accesses[0];
        const auto& piece = network->piece(access.piece);
        const GeoPoint start = to_geo_point(network->point(piece.from));
        CHECK(piece.length_cm / 100.0 == doctest::Approx(geodesic_metres(from, to)).epsilon(0.006));
        CHECK(access.along_cm / 100.0 ==
              doctest::Approx(geodesic_metres(start, access.on_road)).epsilon(0.006).scale(5));
        CHECK(access.off_road.value() ==
              doctest::Approx(geodesic_metres(beside, access.on_road)).epsilon(0.006));
    }
}
