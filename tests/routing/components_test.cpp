#include "routing/components.hpp"

#include <doctest/doctest.h>

#include <random>

#include "routing/network_builder.hpp"
#include "tests/routing/weighted_network.hpp"
#include "tests/support/ascii_district.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

TEST_CASE("An island is a part of its own, not an error, and the report says how large it is") {
    const auto district = ascii_district(R"(
        A--B-----C
           |     |
           D-----E

        P---Q-R

        X~~~Y
    )");
    const auto network = district.network();
    const auto component = [&](char place) {
        return network->component(district.node(place)).value;
    };
    CHECK(component('A') == 0);
    CHECK(component('E') == 0);
    CHECK(component('P') == 1);
    CHECK(component('R') == 1);
    // A ferry joins what it connects.
    CHECK(component('X') == 2);
    CHECK(component('Y') == 2);

    const ComponentReport report = report_components(*network, 1);
    CHECK(report.nodes == 10);
    CHECK(report.nodes_in_largest == 5);
    CHECK(report.arcs == 16);
    CHECK(report.arcs_in_largest == 10);
    // 3 + 6 + 2 + 2 + 6 km of 29 km.
    CHECK(report.length_in_largest == Metres{19'000});
    CHECK(report.length == Metres{29'000});
    CHECK(report.left_out_count == 2);
    REQUIRE(report.left_out.size() == 1);
    CHECK(report.left_out[0].nodes == 3);
    CHECK(report.left_out[0].length == Metres{6'000});
    CHECK(report.left_out[0].example == district.node('P'));
}

TEST_CASE("A place one can reach but not leave is not of the same part") {
    const auto district = ascii_district("A--B-->--C");
    const auto network = district.network();
    CHECK(network->component(district.node('A')) == network->component(district.node('B')));
    CHECK(network->component(district.node('C')) != network->component(district.node('B')));
}

TEST_CASE("A network without any node has no part") {
    const RoadNetwork network = NetworkBuilder{}.build();
    CHECK(strong_components(network, [](ArcId) { return true; }).sizes.empty());
    CHECK(report_components(network, 5).left_out.empty());
}

TEST_CASE("Two places are of one part exactly if each can be reached from the other") {
    // By LEMON's shortest paths in both directions, over random networks that fall to pieces.
    for (unsigned seed = 1; seed <= 5; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        const auto metric = weighted_network(60, random_arcs(60, 1.3, random));
        const LemonOracle oracle(60, oracle_arcs(*metric));
        std::vector<std::vector<std::uint32_t>> distances;
        for (std::uint32_t node = 0; node < 60; ++node) {
            distances.push_back(oracle.distances(node));
        }
        const auto components = strong_components(metric->network(), [](ArcId) { return true; });
        for (std::uint32_t a = 0; a < 60; ++a) {
            for (std::uint32_t b = 0; b < 60; ++b) {
                const bool both = distances[a][b] != LemonOracle::unreachable &&
                                  distances[b][a] != LemonOracle::unreachable;
                CHECK((components.of_node[a] == components.of_node[b]) == both);
            }
        }
        CHECK(std::is_sorted(components.sizes.rbegin(), components.sizes.rend()));
    }
}
