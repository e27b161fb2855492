#include "routing/closure.hpp"

#include <doctest/doctest.h>

#include "routing/metric.hpp"
#include "routing/network_builder.hpp"
#include "routing/reference_router.hpp"
#include "tests/routing/weighted_network.hpp"
#include "tests/support/ascii_district.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

GeoPoint at(double latitude, double longitude) {
    return {Latitude{latitude}, Longitude{longitude}};
}

std::vector<std::string> names(const RoadNetwork& network, const Where& where) {
    std::vector<std::string> found;
    for (const PieceId piece : pieces_at(network, where)) {
        found.emplace_back(network.name_of(network.piece(piece)));
    }
    return found;
}

SpeedRules at_sixty() {
    return {.means = Means::car,
            .conditions = {},
            .on_road =
                [](const RoadAttributes& attributes) {
                    return RoadSpeed{attributes.kind.maxspeed_kmh > 0
                                         ? static_cast<double>(attributes.kind.maxspeed_kmh)
                                         : 60.0,
                                     0s};
                },
            .off_road = {6, 0s},
            .off_road_detour = 1.3};
}

}  // namespace

TEST_CASE("A flooded area closes every road that enters, crosses or only passes through it") {
    const auto district = ascii_district(R"(
        A---------B
        |         |
        |         |
        C--D--E---F
    )");
    const auto network = district.network();
    const auto area = [&](double west, double south, double east, double north) {
        return Area{{district.beside('C', west, south), district.beside('C', east, south),
                     district.beside('C', east, north), district.beside('C', west, north)}};
    };
    using Names = std::vector<std::string>;
    // Around D: the road ends on both sides of it.
    CHECK(names(*network, area(2.5, -0.5, 3.5, 0.5)) == Names{"CD", "DE"});
    // In the middle of a long road, no place inside.
    CHECK(names(*network, area(4, 2.5, 5, 3.5)) == Names{"AB"});
    // Everything, a road wholly inside among them.
    CHECK(names(*network, area(-1, -1, 11, 4)).size() == 6);
    // Open land.
    CHECK(names(*network, area(4, 1, 5, 2)).empty());
    CHECK_THROWS_AS((void)pieces_at(*network, Area{{at(0, 0), at(0, 1)}}), InputError);
}

TEST_CASE("An area across the 180th meridian means the roads there, not all others") {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    const auto road = [&](double from, double to, const char* name) {
        NewPiece piece;
        piece.from = builder.add_node(at(-17, from));
        piece.to = builder.add_node(at(-17, to));
        piece.name = name;
        builder.add_piece(piece);
    };
    road(179.98, -179.98, "across");
    road(179.5, 179.6, "west");
    road(-179.6, -179.5, "east");
    road(0, 1, "far");
    const RoadNetwork network = builder.build();
    using Names = std::vector<std::string>;
    CHECK(names(network, Area{{at(-17.1, 179.99), at(-16.9, 179.99), at(-16.9, -179.99),
                               at(-17.1, -179.99)}}) == Names{"across"});
    CHECK(names(network, Area{{at(-17.1, -179.99), at(-16.9, -179.99), at(-16.9, 179.55),
                               at(-17.1, 179.55)}}) == Names{"across", "west"});
}

TEST_CASE("A road is closed by its name whatever the capitals, by the whole name only") {
    const auto network = ascii_district("A--B---C").network();
    CHECK(pieces_at(*network, RoadName{"ab"}) == std::vector<PieceId>{{0}});
    CHECK(pieces_at(*network, RoadName{"A"}).empty());
    CHECK(pieces_at(*network, RoadName{"ABC"}).empty());
}

TEST_CASE("A blank name closes no road, and those without a name least of all") {
    NetworkBuilder builder;
    const NodeId a = builder.add_node(at(0, 0));
    NewPiece unnamed;
    unnamed.from = a;
    unnamed.to = a;
    builder.add_piece(unnamed);
    const RoadNetwork network = builder.build();
    REQUIRE(network.name_of(network.piece(PieceId{0})).empty());
    CHECK(pieces_at(network, RoadName{""}).empty());
    CHECK(pieces_at(network, RoadName{" \t"}).empty());
}

TEST_CASE("A road is closed along its whole way by the number it has on the map") {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    const NodeId a = builder.add_node(at(0, 0));
    for (const std::int64_t way : {7, 8, 7}) {
        NewPiece piece;
        piece.from = a;
        piece.to = a;
        piece.road = {way};
        builder.add_piece(piece);
    }
    CHECK(pieces_at(builder.build(), RoadId{7}) == std::vector<PieceId>{{0}, {2}});
}

TEST_CASE("A pontoon joins the banks while it is there, at its own speed") {
    const auto district = ascii_district(R"(
        A---B

        C---D
    )");
    const TemporaryLink pontoon{.id = "pontoon",
                                .from = district.beside('B', 0.01, 0),
                                .to = district.point('D'),
                                .kilometres_per_hour = 6,
                                .period = {.from = Instant{10h}, .until = Instant{20h}},
                                .means = MeansSet::all(),
                                .reason = "the bridge is out"};
    const std::span<const TemporaryLink> links(&pontoon, 1);
    const auto network =
        std::make_shared<const RoadNetwork>(with_links(*district.network(), links, Metres{200}));
    const auto typical = [&](Instant as_of) {
        const auto metric = std::make_shared<const Metric>(
            network, at_sixty(), std::span<const RoadChange>{}, links, as_of);
        const Snap target = district.snap('C');
        return ReferenceRouter(metric).travel_times({district.snap('A'), {}}, std::span(&target, 1),
                                                    Seconds::max())[0];
    };
    // 4 km at 60 km/h, 2 km at 6 km/h, 4 km at 60 km/h.
    REQUIRE(typical(Instant{10h}));
    CHECK(typical(Instant{10h})->typical == 28min);
    CHECK_FALSE(typical(Instant{10h - 1s}));
    CHECK_FALSE(typical(Instant{20h}));
}

TEST_CASE("A network with links still has every road, ferry and shape it had") {
    const auto district = ascii_district("A-->--B~~~C").ferry("BC", {10min, 30min});
    const auto before = district.network();
    const RoadNetwork after = with_links(*before, {}, Metres{200});
    CHECK(after.ferries() == before->ferries());
    CHECK(after.attributes() == before->attributes());
    CHECK(std::equal(after.pieces().begin(), after.pieces().end(), before->pieces().begin(),
                     before->pieces().end()));
}

TEST_CASE("A link into nowhere, or at no speed, is refused by its name") {
    const auto district = ascii_district("A--B");
    TemporaryLink link{.id = "raft",
                       .from = district.point('A'),
                       .to = district.beside('B', 1, 0),
                       .kilometres_per_hour = 5,
                       .period = {},
                       .means = MeansSet::all(),
                       .reason = ""};
    const auto refusal = [&] {
        try {
            static_cast<void>(with_links(*district.network(), std::span(&link, 1), Metres{200}));
        } catch (const InputError& error) {
            return error.fields();
        }
        return std::vector<FieldError>{};
    };
    CHECK(refusal() ==
          std::vector<FieldError>{
              {"raft", "an end is farther than 200 m from any place where roads meet"}});
    link.to = district.point('B');
    CHECK(refusal().empty());
    link.kilometres_per_hour = 0;
    CHECK(refusal() == std::vector<FieldError>{{"raft", "its speed is outside 1 to 140 km/h"}});
}
