#include "routing/network_builder.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <limits>
#include <numbers>
#include <random>
#include <string>

#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;

namespace {

GeoPoint at(double latitude, double longitude) {
    return {Latitude{latitude}, Longitude{longitude}};
}

NewPiece road(NodeId from, NodeId to, std::string name = "") {
    NewPiece piece;
    piece.from = from;
    piece.to = to;
    piece.name = std::move(name);
    return piece;
}

}  // namespace

TEST_CASE("A network is refused where a road has no end, no length or no ferry to belong to") {
    NetworkBuilder builder;
    const NodeId a = builder.add_node(at(0, 0));
    const NodeId b = builder.add_node(at(0, 1));
    const auto with_length = [&](double metres) {
        NewPiece piece = road(a, b);
        piece.length = Metres{metres};
        return piece;
    };
    CHECK_THROWS_AS(builder.add_piece(road(a, {2})), InputError);
    CHECK_THROWS_AS(builder.add_piece(road(NodeId::none(), b)), InputError);
    CHECK_THROWS_AS(builder.add_piece(with_length(-0.01)), InputError);
    CHECK_THROWS_AS(builder.add_piece(with_length(40'000'000.1)), InputError);
    CHECK_THROWS_AS(builder.add_piece(with_length(std::numeric_limits<double>::quiet_NaN())),
                    InputError);
    CHECK_THROWS_AS(builder.add_piece(with_length(std::numeric_limits<double>::infinity())),
                    InputError);
    NewPiece ferry = road(a, b);
    ferry.ferry = 0;
    CHECK_THROWS_AS(builder.add_piece(ferry), InputError);
    CHECK_NOTHROW(builder.add_piece(with_length(0)));
    CHECK_NOTHROW(builder.add_piece(with_length(40'000'000)));
}

TEST_CASE("A ferry that arrives before it leaves, or at once, is refused") {
    NetworkBuilder builder;
    CHECK_THROWS_AS(builder.add_ferry({.crossing = -1s, .timetable = {}}), InputError);
    CHECK_THROWS_AS(builder.add_ferry({.crossing = 0s, .timetable = {}}), InputError);
    CHECK_THROWS_AS(builder.add_ferry({.crossing = 1min, .timetable = {}, .assumed_wait = -1s}),
                    InputError);
    CHECK_THROWS_AS(builder.add_ferry({.crossing = 7 * 24h + 1s, .timetable = {}}), InputError);
    CHECK(builder.add_ferry({.crossing = 7 * 24h, .timetable = {}}) == 0);
}

TEST_CASE("A one-way street has one arc, a street two, and a wall none") {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    const NodeId a = builder.add_node(at(0, 0));
    const NodeId b = builder.add_node(at(0, 0.01));
    NewPiece one_way = road(a, b, "Market Street");
    one_way.backward = MeansSet{};
    NewPiece wall = one_way;
    wall.forward = MeansSet{};
    builder.add_piece(road(a, b, "Hill Road"));
    builder.add_piece(one_way);
    builder.add_piece(wall);
    const RoadNetwork network = builder.build();
    REQUIRE(network.piece_count() == 3);
    CHECK(network.arc_count() == 3);
    const Piece& street = network.piece(PieceId{0});
    CHECK(network.name_of(street) == "Hill Road");
    CHECK(network.tail(street.forward) == a);
    CHECK(network.head(street.forward) == b);
    CHECK(network.tail(street.backward) == b);
    CHECK(network.head(street.backward) == a);
    CHECK(network.is_forward(street.forward));
    CHECK_FALSE(network.is_forward(street.backward));
    CHECK(network.piece(PieceId{1}).forward.exists());
    CHECK_FALSE(network.piece(PieceId{1}).backward.exists());
    CHECK_FALSE(network.piece(PieceId{2}).forward.exists());
    // A one-way street and a street make both ways possible.
    CHECK(network.component(a) == network.component(b));
}

TEST_CASE("A road's length follows its bends, and its shape comes back as it was given") {
    // A quarter of a degree twice along the equator and once up a meridian of the mean sphere.
    const double quarter_degree = earth_mean_radius.value() * std::numbers::pi / 180 / 4;
    NetworkBuilder builder;
    const NodeId a = builder.add_node(at(0, 179.75));
    const NodeId b = builder.add_node(at(0.25, -179.75));
    NewPiece bent = road(a, b);
    bent.shape = {at(0, 180), at(0, -179.75)};
    builder.add_piece(bent);
    const RoadNetwork network = builder.build();
    const Piece& piece = network.piece(PieceId{0});
    CHECK(piece.length_cm / 100.0 == doctest::Approx(3 * quarter_degree).epsilon(1e-7));
    CHECK(network.shape_of(piece) == std::vector<FixedPoint>{{0, 1'797'500'000},
                                                             {0, 1'800'000'000},
                                                             {0, -1'797'500'000},
                                                             {2'500'000, -1'797'500'000}});
}

TEST_CASE("Numbering for locality changes no place and no road") {
    std::mt19937 random(1);
    std::uniform_real_distribution<double> degrees(-60, 60);
    NetworkBuilder builder;
    std::vector<GeoPoint> points;
    for (std::uint32_t i = 0; i < 200; ++i) {
        points.push_back(at(degrees(random), 3 * degrees(random)));
        builder.add_node(points.back());
    }
    std::vector<std::pair<std::uint32_t, std::uint32_t>> ends;
    for (std::uint32_t i = 0; i < 400; ++i) {
        ends.emplace_back(random() % 200, random() % 200);
        NewPiece piece = road({ends.back().first}, {ends.back().second}, std::to_string(i));
        piece.road = {i};
        piece.shape = {at(1, i * 1e-3)};
        builder.add_piece(piece);
    }
    const RoadNetwork network = builder.build();
    const auto& numbers = builder.node_numbers();
    for (std::uint32_t i = 0; i < 200; ++i) {
        CHECK(network.point(numbers[i]) == to_fixed(points[i]));
    }
    std::vector<bool> is_seen(400);
    for (const Piece& piece : network.pieces()) {
        const auto i = static_cast<std::uint32_t>(piece.road.value);
        is_seen[i] = true;
        CHECK(network.name_of(piece) == std::to_string(i));
        CHECK(piece.from == numbers[ends[i].first]);
        CHECK(piece.to == numbers[ends[i].second]);
        CHECK(network.shape_of(piece)[1] == to_fixed(at(1, i * 1e-3)));
    }
    CHECK(std::count(is_seen.begin(), is_seen.end(), true) == 400);
    for (std::uint32_t number = 0; number < network.node_count(); ++number) {
        const NodeId node{number};
        for (ArcId arc = network.first_arc(node); arc < network.end_arc(node); ++arc.value) {
            CHECK(network.tail(arc) == node);
            const Piece& piece = network.piece(arc);
            CHECK(network.head(arc) == (network.is_forward(arc) ? piece.to : piece.from));
        }
    }
}

TEST_CASE("Near places get near numbers") {
    // On a 32 × 32 grid entered in random order, neighbours are on average a few numbers apart, not
    // the third of all that chance gives.
    std::mt19937 random(2);
    std::vector<std::pair<int, int>> cells;
    for (int x = 0; x < 32; ++x) {
        for (int y = 0; y < 32; ++y) {
            cells.emplace_back(x, y);
        }
    }
    std::shuffle(cells.begin(), cells.end(), random);
    NetworkBuilder builder;
    for (const auto& [x, y] : cells) {
        builder.add_node(at(y * 0.01, x * 0.01));
    }
    static_cast<void>(builder.build());
    std::vector<std::vector<double>> number(32, std::vector<double>(32));
    for (std::size_t i = 0; i < cells.size(); ++i) {
        number[static_cast<std::size_t>(cells[i].first)]
              [static_cast<std::size_t>(cells[i].second)] = builder.node_numbers()[i].value;
    }
    double apart = 0;
    for (std::size_t x = 0; x + 1 < 32; ++x) {
        for (std::size_t y = 0; y < 32; ++y) {
            apart += std::abs(number[x][y] - number[x + 1][y]);
        }
    }
    CHECK(apart / (31 * 32) < 40);
}

TEST_CASE("The builder is empty after it has built") {
    NetworkBuilder builder;
    builder.add_node(at(0, 0));
    CHECK(builder.build().node_count() == 1);
    CHECK(builder.build().node_count() == 0);
}

TEST_CASE("Roads that are alike share one entry, roads that are not do not") {
    NetworkBuilder builder;
    const NodeId a = builder.add_node(at(0, 0));
    NewPiece piece = road(a, a);
    builder.add_piece(piece);
    builder.add_piece(piece);
    piece.attributes.is_ford = true;
    builder.add_piece(piece);
    piece.attributes.kind.maxspeed_kmh = 50;
    builder.add_piece(piece);
    const RoadNetwork network = builder.build();
    REQUIRE(network.attributes().size() == 3);
    CHECK(network.attributes()[2] == piece.attributes);
}
