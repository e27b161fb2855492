#include "routing/travel_table.hpp"

#include <doctest/doctest.h>

#include "routing/reference_router.hpp"
#include "tests/routing/map_fixture.hpp"
#include "tests/routing/random_roads.hpp"

// The oracle is ReferenceRouter (Boost.Graph).

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

std::size_t compare_tables(const std::shared_ptr<const Metric>& metric, unsigned seed,
                           std::size_t rows, std::size_t columns) {
    const auto ready = prepared(metric);
    RandomPlaces random{*metric, seed};
    std::vector<Departure> departures;
    for (std::size_t row = 0; row < rows; ++row) {
        departures.push_back({random.one(), Instant{Seconds{random.below(7 * 86400)}}});
    }
    auto targets = random.several(columns);
    targets.push_back(targets.front());          // two on one spot
    targets.push_back(departures.front().from);  // she is there already
    targets.emplace_back();                      // off every road
    const PlaceIndex index{ready, targets};
    ReferenceRouter oracle{metric};
    HierarchyRouter router{ready};
    std::size_t compared = 0;
    for (const Seconds limit : {Seconds{20min}, Seconds{1000h}}) {
        const TravelTable expected = travel_table(oracle, departures, targets, limit);
        REQUIRE(travel_table(router, departures, index, limit) == expected);
        REQUIRE(expected.rows() == rows);
        REQUIRE(expected.at(0, columns + 1)->typical >= 0s);
        REQUIRE_FALSE(expected.at(0, columns + 2));
        compared += rows * targets.size();
    }
    return compared;
}

}  // namespace

TEST_CASE("A table of travel times is what asking one by one gives") {
    std::size_t compared = 0;
    for (const std::uint32_t nodes : network_sizes(1'000, 10'000)) {
        CAPTURE(nodes);
        const auto made = make_network(
            {.nodes = nodes, .seed = 5, .one_way_share = 0.1, .islands = 5, .closed_share = 0.02});
        compared += compare_tables(random_roads(made, 5, 0).metric(), 5, 25, 200);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared >= 20'000);
}

TEST_CASE("In a table, times near the longest that can be counted neither wrap nor hide a place") {
    const auto made = make_network({.nodes = 400, .seed = 7, .one_way_share = 0.1});
    const auto metric = with_extreme_weights(*random_roads(made, 7, 0).metric(), 7);
    const std::size_t compared = compare_tables(metric, 7, 25, 100);
    MESSAGE("comparisons: " << compared);
    CHECK(compared >= 2'500);
}

TEST_CASE("With ferries by the clock each departure of a table has its own sailing") {
    const auto made = make_network({.nodes = 150, .seed = 6});
    const std::size_t compared = compare_tables(random_roads(made, 6, 0.08).metric(), 6, 15, 30);
    MESSAGE("comparisons: " << compared);
}

TEST_CASE("A table of a real map is what asking one by one gives") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    std::size_t compared = 0;
    each_real_map([&](const std::string& name) {
        compared +=
            compare_tables(real_metric(*data, name, {Surface::dry, Light::day}), 8, 20, 500);
    });
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 60'000);
}
