#include "routing/alternatives.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "routing/closure.hpp"
#include "routing/hierarchy_router.hpp"
#include "routing/reference_router.hpp"
#include "tests/routing/map_fixture.hpp"
#include "tests/routing/random_roads.hpp"
#include "tests/support/ascii_district.hpp"
#include "vocabulary/error.hpp"

// The oracle is ReferenceRouter (Boost.Graph). What another way must be: Abraham, Delling,
// Goldberg, Werneck, ACM J. Experimental Algorithmics 18 (2013) 1.3 (from memory of it).

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

/// A place exactly at an end of an arc.
Snap at_end(const RoadNetwork& network, ArcId arc, bool at_head) {
    const Piece& piece = network.piece(arc);
    const bool at_from = network.is_forward(arc) != at_head;
    Snap snap;
    snap.accesses.push_back({network.piece_of(arc), at_from ? 0 : piece.length_cm,
                             to_geo_point(network.point(at_from ? piece.from : piece.to)),
                             Metres{0}});
    return snap;
}

std::uint64_t typical_ds(const Metric& metric, std::span<const ArcPart> parts) {
    std::uint64_t sum = 0;
    for (const ArcPart& part : parts) {
        sum += metric.weight(part.arc, part.from_cm, part.to_cm).typical_ds;
    }
    return sum;
}

/// Follows the arcs: each begins where the last one ended, none is closed, no crossing is passed
/// twice.
void hold_to_the_roads(const Metric& metric, const std::vector<ArcPart>& parts) {
    const RoadNetwork& network = metric.network();
    std::set<NodeId> passed;
    for (std::size_t i = 0; i < parts.size(); ++i) {
        REQUIRE(metric.is_open(parts[i].arc));
        if (i > 0) {
            REQUIRE(parts[i].from_cm == 0);
            REQUIRE(parts[i - 1].to_cm == network.piece(parts[i - 1].arc).length_cm);
            REQUIRE(network.tail(parts[i].arc) == network.head(parts[i - 1].arc));
            REQUIRE(passed.insert(network.tail(parts[i].arc)).second);
        }
    }
}

/// No stretch of the way of up to `longest_ds` has a quicker way between its ends.
std::size_t hold_to_local_best(const std::shared_ptr<const Metric>& metric,
                               const std::vector<ArcPart>& parts, double longest_ds,
                               ReferenceRouter& oracle) {
    std::size_t compared = 0;
    for (std::size_t first = 1; first + 1 < parts.size(); ++first) {
        std::size_t last = first;
        while (last + 2 < parts.size() &&
               static_cast<double>(typical_ds(
                   *metric, std::span(parts).subspan(first, last + 2 - first))) <= longest_ds) {
            ++last;
        }
        const std::uint64_t ds =
            typical_ds(*metric, std::span(parts).subspan(first, last + 1 - first));
        // who stands on a piece without length stands at both of its ends
        const bool is_vague = metric->network().piece(parts[first].arc).length_cm == 0 ||
                              metric->network().piece(parts[last].arc).length_cm == 0;
        if (static_cast<double>(ds) > longest_ds || is_vague) {
            continue;
        }
        const Snap from = at_end(metric->network(), parts[first].arc, false);
        const Snap to = at_end(metric->network(), parts[last].arc, true);
        const auto time = oracle.travel_times({from, {}}, {&to, 1}, Seconds::max())[0];
        REQUIRE(time);
        REQUIRE(time->typical == Seconds{static_cast<std::int64_t>(ds + 9) / 10});
        ++compared;
    }
    return compared;
}

struct Counts {
    std::size_t asked = 0;
    std::size_t others = 0;
    std::size_t stretches = 0;
};

Counts compare_alternatives(const std::shared_ptr<const Metric>& metric, unsigned seed, int pairs) {
    RandomPlaces random{*metric, seed};
    AlternativeSearch search{metric};
    ReferenceRouter oracle{metric};
    const AlternativeLimits limits;
    Counts counts;
    for (int pair = 0; pair < pairs; ++pair) {
        CAPTURE(seed);
        CAPTURE(pair);
        const Departure departure{random.one(), {}};
        const Snap target = random.one();
        const auto ways = search.find(departure, target);
        const auto best = oracle.route(departure, target);
        REQUIRE(ways.empty() == !best.has_value());
        counts.asked += 1;
        for (std::size_t i = 0; i < ways.size(); ++i) {
            CAPTURE(i);
            const Alternative& way = ways[i];
            hold_to_the_roads(*metric, way.parts);
            if (i == 0) {
                REQUIRE(way.route.travel_time == best->travel_time);
                continue;
            }
            // the arcs add up to what is told, up to walking and the rounding to whole seconds
            Seconds walked{0};
            for (const Leg& leg : way.route.legs) {
                walked +=
                    leg.means == Means::on_foot && leg.is_assumed ? leg.travel_time.typical : 0s;
            }
            const auto driven_s = static_cast<std::int64_t>(typical_ds(*metric, way.parts) / 10);
            REQUIRE(std::abs((way.route.travel_time.typical - walked).count() - driven_s) <= 3);
            REQUIRE(way.route.travel_time.typical >= best->travel_time.typical);
            REQUIRE(way.stretch <= limits.most_stretch);
            REQUIRE(way.shared <= limits.most_shared);
            const double opt_ds = static_cast<double>(best->travel_time.typical.count() - 1) * 10;
            counts.stretches +=
                hold_to_local_best(metric, way.parts, limits.least_agreed * opt_ds, oracle);
            counts.others += 1;
        }
    }
    return counts;
}

}  // namespace

TEST_CASE("Round the lake there are two ways, and both are told, the shorter first") {
    // 3 + 13 + 3 minutes over the north, 3 + 15 + 3 round the south
    const auto district = ascii_district(R"(
           E--------F
           |        |
        A--B        C--D
           |        |
           |        |
           G--------H
    )");
    AlternativeSearch search{district.metric()};
    const auto ways = search.find({district.snap('A'), {}}, district.snap('D'));
    REQUIRE(ways.size() == 2);
    CHECK(ways[0].route.travel_time.typical == 19min);
    CHECK(ways[1].route.travel_time.typical == 21min);
    CHECK(ways[1].stretch == doctest::Approx(21.0 / 19));
    CHECK(ways[1].shared == doctest::Approx(6.0 / 19));
}

TEST_CASE("A way too long, too much the same or turning back is no other way") {
    SUBCASE("twice as long") {
        const auto district = ascii_district(R"(
            B-----C
            |     |
            |     |
            |     |
            |     |
            A-----D
        )");
        AlternativeSearch search{district.metric()};
        CHECK(search.find({district.snap('A'), {}}, district.snap('D')).size() == 1);
        // whoever accepts that has it: 5 + 6 + 5 minutes instead of 6
        const auto ways = search.find({district.snap('A'), {}}, district.snap('D'),
                                      {.most_stretch = 3, .least_agreed = 0.1});
        REQUIRE(ways.size() == 2);
        CHECK(ways[1].route.travel_time.typical == 16min);
    }
    SUBCASE("a loop of two minutes on a way of half an hour") {
        const auto district = ascii_district(R"(
            A--------------B-C----------------D
                           | |
                           E-F
        )");
        AlternativeSearch search{district.metric()};
        CHECK(search.find({district.snap('A'), {}}, district.snap('D')).size() == 1);
    }
}

TEST_CASE("When the bridge is out both engines know the second way, or that there is none") {
    const auto district = ascii_district(R"(
        A--B---C--D
           |   |
           E---F
    )");
    const auto metric = district.metric();
    const auto bridge = pieces_at(metric->network(), RoadName{"BC"});
    const auto only_road = pieces_at(metric->network(), RoadName{"AB"});
    REQUIRE(bridge.size() == 1);
    ReferenceRouter reference{metric};
    HierarchyRouter hierarchy{prepared(metric)};
    const Departure departure{district.snap('A'), {}};
    for (Router* router : {static_cast<Router*>(&reference), static_cast<Router*>(&hierarchy)}) {
        CHECK(router->route(departure, district.snap('D'))->travel_time.typical == 10min);
        CHECK(router->route_around(departure, district.snap('D'), bridge)->travel_time.typical ==
              14min);
        CHECK_FALSE(router->route_around(departure, district.snap('D'), only_road));
        CHECK_THROWS_AS(
            router->route_around(departure, district.snap('D'), std::vector<PieceId>{{99}}),
            InputError);
    }
}

TEST_CASE("Another way by ferry counts its wait, and is none when that makes it too long") {
    const auto drawn = ascii_district(R"(
        B~~~~~~~~~~C
        |          |
        A          D
        |          |
        |          |
        E----------F
    )");
    const auto ways_at = [&](Seconds leaves_every, Instant at) {
        const auto district = drawn.ferry("BC", {.crosses = 12min, .leaves_every = leaves_every});
        AlternativeSearch search{district.metric()};
        return search.find({district.snap('A'), at}, district.snap('D'));
    };
    // by road 3 + 11 + 3; by ferry 2 + 12 + 2 and the wait for it
    const auto at_once = ways_at(60min, Instant{6h - 2min});
    REQUIRE(at_once.size() == 2);
    CHECK(at_once[0].route.travel_time.typical == 16min);
    CHECK(at_once[1].route.travel_time.typical == 17min);
    CHECK(ways_at(60min, Instant{6h}).size() == 1);
}

TEST_CASE("Every other way follows open roads, adds up, and is sensible all along") {
    Counts all;
    for (unsigned seed = 1; seed <= 5; ++seed) {
        const auto made =
            make_network({.nodes = 400 * seed, .seed = seed, .one_way_share = 0.1, .islands = 2});
        const auto counts = compare_alternatives(random_roads(made, seed, 0).metric(), seed, 25);
        all.asked += counts.asked;
        all.others += counts.others;
        all.stretches += counts.stretches;
    }
    MESSAGE("asked: " << all.asked << ", other ways: " << all.others
                      << ", stretches compared: " << all.stretches);
    CHECK(all.others > 50);
    CHECK(all.stretches > 1'000);
}

TEST_CASE("In a whole country the best way is the router's, and every other is sensible") {
    Counts all;
    for (const std::uint32_t nodes : network_sizes(100'000, 100'000)) {
        CAPTURE(nodes);
        const auto made = make_network({.nodes = nodes, .seed = 8, .one_way_share = 0.1});
        const auto counts = compare_alternatives(random_roads(made, 8, 0).metric(), 8, 2);
        all.asked += counts.asked;
        all.others += counts.others;
        all.stretches += counts.stretches;
    }
    MESSAGE("asked: " << all.asked << ", other ways: " << all.others
                      << ", stretches compared: " << all.stretches);
    CHECK(all.asked >= 2);
}

TEST_CASE("On a real map every other way follows open roads, adds up, and is sensible all along") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    const auto metric = real_metric(*data, "campo-grande", {Surface::dry, Light::day});
    const auto counts = compare_alternatives(metric, 4, 12);
    MESSAGE("asked: " << counts.asked << ", other ways: " << counts.others
                      << ", stretches compared: " << counts.stretches);
    CHECK(counts.others > 5);
}

TEST_CASE("She is there already, or there is no way at all: one way of nothing, or none") {
    const auto district = ascii_district("A--B   C--D");
    AlternativeSearch search{district.metric()};
    const auto there = search.find({district.snap('A'), {}}, district.snap('A'));
    REQUIRE(there.size() == 1);
    CHECK(there[0].route.travel_time.typical == 0s);
    CHECK(search.find({district.snap('A'), {}}, district.snap('D')).empty());
    CHECK(search.find({{}, {}}, district.snap('D')).empty());
}
