#include "routing/place_sweep.hpp"

#include <doctest/doctest.h>

#include "routing/reference_router.hpp"
#include "tests/routing/map_fixture.hpp"
#include "tests/routing/random_roads.hpp"
#include "vocabulary/error.hpp"

// The oracle is ReferenceRouter (Boost.Graph), asked for one settlement at a time.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

struct Compared {
    std::size_t ways = 0;
    std::size_t may_wait = 0;
};

/// The way with the least typical time, of equally quick ones the surest.
std::optional<TravelTime> best_of(const std::vector<std::optional<TravelTime>>& times) {
    std::optional<TravelTime> best;
    for (const auto& time : times) {
        const bool is_better =
            time && (!best || time->typical < best->typical ||
                     (time->typical == best->typical && time->allow < best->allow));
        best = is_better ? time : best;
    }
    return best;
}

Compared compare(const std::shared_ptr<const Metric>& metric, unsigned seed, std::size_t rows,
                 std::size_t columns) {
    RandomPlaces random{*metric, seed};
    std::vector<std::optional<Snap>> settlements;
    for (const Snap& one : random.several(rows)) {
        settlements.emplace_back(one);
    }
    settlements.emplace_back();  // off the map
    std::vector<std::vector<Snap>> groups;
    for (const Snap& one : random.several(columns)) {
        groups.push_back({one});
    }
    groups.push_back(random.several(6));  // nobody's search has one end only
    groups.push_back({*settlements[0]});  // she is there already
    groups.emplace_back();                // nobody is capable
    const PlaceSweep sweep{prepared(metric), settlements};
    const auto ways = sweep.to_nearest(groups);
    REQUIRE(ways.size() == settlements.size() * groups.size());
    ReferenceRouter oracle{metric};
    Compared compared;
    for (std::size_t row = 0; row < settlements.size(); ++row) {
        for (std::size_t group = 0; group < groups.size(); ++group) {
            CAPTURE(row);
            CAPTURE(group);
            const SweptWay& way = ways[row * groups.size() + group];
            std::vector<std::optional<TravelTime>> each;
            if (settlements[row]) {
                each = oracle.travel_times({*settlements[row], Instant{Seconds{row * 977}}},
                                           groups[group], Seconds::max());
            }
            const auto expected = best_of(each);
            ++compared.ways;
            if (way.may_wait) {
                ++compared.may_wait;
                CHECK((!expected || way.time->typical <= expected->typical));  // waits only add
            } else if (groups[group].size() < 2) {
                CHECK(way.time == expected);
            } else {
                // of several, rounding to whole seconds hides which was a tenth quicker
                REQUIRE(way.time.has_value() == expected.has_value());
                CHECK((!expected || way.time->typical == expected->typical));
            }
        }
    }
    return compared;
}

}  // namespace

TEST_CASE("One pass over the roads finds for every settlement what a search of its own finds") {
    std::size_t ways = 0;
    for (const std::uint32_t nodes : network_sizes(100, 10'000)) {
        CAPTURE(nodes);
        const auto made = make_network(
            {.nodes = nodes, .seed = 9, .one_way_share = 0.1, .islands = 5, .closed_share = 0.02});
        const Compared compared = compare(random_roads(made, 9, 0).metric(), 9, 60, 17);
        CHECK(compared.may_wait == 0);
        ways += compared.ways;
    }
    MESSAGE("ways compared: " << ways);
    CHECK(ways >= 3'600);
}

TEST_CASE("Times near the longest that can be counted neither wrap nor hide a place") {
    const auto made = make_network({.nodes = 400, .seed = 7, .one_way_share = 0.1});
    compare(with_extreme_weights(*random_roads(made, 7, 0).metric(), 7), 7, 40, 9);
}

TEST_CASE("Where a ferry could shorten the way it is said so, and all other ways are exact") {
    const auto made = make_network({.nodes = 150, .seed = 6});
    const Compared compared = compare(random_roads(made, 6, 0.08).metric(), 6, 40, 9);
    CHECK(compared.may_wait > 0);
    CHECK(compared.may_wait < compared.ways);
}

TEST_CASE("On a real map the pass finds what a search of its own finds") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    std::size_t ways = 0;
    each_real_map([&](const std::string& name) {
        ways += compare(real_metric(*data, name, {Surface::dry, Light::day}), 8, 20, 40).ways;
    });
    MESSAGE("ways compared: " << ways);
    CHECK(ways > 800);
}

TEST_CASE("A settlement of another network is refused") {
    const auto made = make_network({.nodes = 100, .seed = 3});
    const auto metric = random_roads(made, 3, 0).metric();
    Snap other;
    other.accesses.push_back({.piece = {metric->network().piece_count()},
                              .along_cm = 0,
                              .on_road = other.point,
                              .off_road = Metres{0}});
    CHECK_THROWS_AS(PlaceSweep(prepared(metric), {other}), InputError);
}
