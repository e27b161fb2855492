#include <doctest/doctest.h>

#include <algorithm>
#include <numeric>

#include "routing/internal/reference_search.hpp"
#include "routing/reference_router.hpp"
#include "tests/routing/weighted_network.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

/// Typical time and spread, to the tenth of a second, from one node to all.
std::vector<Label> labels_from(const std::shared_ptr<const Metric>& metric, std::uint32_t node) {
    const auto snaps = node_snaps(metric->network());
    ReferenceSearch search(metric, make_reference_graph(metric->network()));
    search.run(
        {snaps[node], {}}, snaps, closed_ds - 1, [](std::size_t, const Label&) {},
        [](std::uint32_t) { return false; });
    std::vector<Label> labels;
    for (std::size_t target = 0; target < snaps.size(); ++target) {
        labels.push_back(search.label(target));
    }
    return labels;
}

/// The slow and obvious way: improve along every arc until nothing improves (Bellman 1958, Ford
/// 1956).
std::vector<Weight> bellman_ford(std::uint32_t nodes, const std::vector<WeightedArc>& arcs,
                                 std::uint32_t source) {
    std::vector<Weight> best(nodes, Weight{closed_ds, 0});
    best[source] = {0, 0};
    for (bool improved = true; improved;) {
        improved = false;
        for (const WeightedArc& arc : arcs) {
            const Weight& tail = best[arc.tail];
            const Weight there{tail.typical_ds + arc.typical_ds,
                               tail.variance_ds2 + arc.variance_ds2};
            if (tail.typical_ds < closed_ds && there < best[arc.head]) {
                best[arc.head] = there;
                improved = true;
            }
        }
    }
    return best;
}

/// Sizes and densities from broken into islands to closely meshed.
struct Shape {
    std::uint32_t nodes;
    double density;
};
constexpr Shape shapes[] = {{1, 2}, {2, 1}, {20, 1}, {60, 2.5}, {200, 1.5}, {400, 2.5}, {300, 6}};

}  // namespace

TEST_CASE("On random networks every time equals LEMON's, to the tenth of a second") {
    for (unsigned seed = 1; seed <= 10; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        for (const Shape& shape : shapes) {
            CAPTURE(shape.nodes);
            auto arcs = random_arcs(shape.nodes, shape.density, random);
            for (WeightedArc& arc : arcs) {
                arc.typical_ds += static_cast<std::uint32_t>(random() % 10);
            }
            const auto metric = weighted_network(shape.nodes, arcs);
            const LemonOracle oracle(shape.nodes, oracle_arcs(*metric));
            const auto snaps = node_snaps(metric->network());
            for (int round = 0; round < 3; ++round) {
                const auto source = static_cast<std::uint32_t>(random() % shape.nodes);
                const auto expected = oracle.distances(source);
                const auto labels = labels_from(metric, source);
                for (std::uint32_t node = 0; node < shape.nodes; ++node) {
                    if (snaps[source].accesses.empty() || snaps[node].accesses.empty()) {
                        // No road at all: no way onto the network, not even to itself.
                        CHECK_FALSE(labels[node].is_reached());
                    } else if (expected[node] == LemonOracle::unreachable) {
                        CHECK_FALSE(labels[node].is_reached());
                    } else {
                        REQUIRE(labels[node].typical_ds == expected[node]);
                    }
                }
            }
        }
    }
}

TEST_CASE("Time and spread together equal those of a slow and obvious search") {
    for (unsigned seed = 1; seed <= 10; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        auto arcs = random_arcs(80, 3, random);
        for (WeightedArc& arc : arcs) {
            // Few different times, so that many ways are equally quick.
            arc.typical_ds = arc.typical_ds / 1000 * 100;
        }
        const auto expected = bellman_ford(80, arcs, 0);
        const auto labels = labels_from(weighted_network(80, arcs), 0);
        for (std::uint32_t node = 0; node < 80; ++node) {
            CHECK(labels[node].typical_ds == expected[node].typical_ds);
            CHECK(labels[node].variance_ds2 == expected[node].variance_ds2);
        }
    }
}

TEST_CASE("The nearest places are the smallest of all times, ties in the order listed") {
    for (unsigned seed = 1; seed <= 20; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        const auto metric = weighted_network(150, random_arcs(150, 2.2, random));
        const auto snaps = node_snaps(metric->network());
        std::vector<Snap> targets;
        for (int i = 0; i < 25; ++i) {
            targets.push_back(snaps[random() % snaps.size()]);
        }
        const Departure departure{snaps[random() % snaps.size()], {}};
        const Seconds limit{static_cast<int>(random() % 200)};
        const auto accept = [](std::size_t target) { return target % 3 != 0; };
        ReferenceRouter router(metric);
        const auto times = router.travel_times(departure, targets, limit);
        std::vector<Nearest> expected;
        for (std::size_t target = 0; target < targets.size(); ++target) {
            if (times[target] && accept(target)) {
                expected.push_back({target, *times[target], times[target]->typical});
            }
        }
        std::stable_sort(expected.begin(), expected.end(), [](const auto& a, const auto& b) {
            return a.travel_time.typical < b.travel_time.typical;
        });
        for (const std::size_t count : {1U, 3U, 100U}) {
            const auto first = expected.begin();
            const std::vector<Nearest> nearest(
                first, first + static_cast<std::ptrdiff_t>(std::min(count, expected.size())));
            CHECK(router.nearest(departure, targets, count, limit, ready_if(accept)) == nearest);
        }
    }
}

TEST_CASE("No way is longer than one by way of a third place") {
    std::mt19937 random(7);
    const auto metric = weighted_network(60, random_arcs(60, 3, random));
    std::vector<std::vector<std::optional<Seconds>>> times;
    for (std::uint32_t node = 0; node < 60; ++node) {
        times.push_back(typical_from(metric, node));
    }
    for (std::size_t from = 0; from < 60; ++from) {
        for (std::size_t by = 0; by < 60; ++by) {
            for (std::size_t to = 0; to < 60; ++to) {
                if (times[from][by] && times[by][to]) {
                    REQUIRE(times[from][to]);
                    REQUIRE(*times[from][to] <= *times[from][by] + *times[by][to]);
                }
            }
        }
    }
}

TEST_CASE("Both ways take the same where every road does") {
    std::mt19937 random(8);
    const auto metric = weighted_network(60, both_ways(random_arcs(60, 1.5, random)));
    for (std::uint32_t from = 0; from < 20; ++from) {
        const auto out = typical_from(metric, from);
        for (std::uint32_t to = 0; to < 20; ++to) {
            CHECK(out[to] == typical_from(metric, to)[from]);
        }
    }
}

TEST_CASE("A slower road never makes any way quicker, and a closed one never opens any") {
    std::mt19937 random(9);
    auto arcs = random_arcs(120, 2.5, random);
    const auto before = typical_from(weighted_network(120, arcs), 3);
    SUBCASE("slower") {
        for (int i = 0; i < 40; ++i) {
            arcs[random() % arcs.size()].typical_ds += 500;
        }
    }
    SUBCASE("closed") {
        for (int i = 0; i < 40; ++i) {
            arcs[random() % arcs.size()].typical_ds = closed_ds;
        }
    }
    const auto after = typical_from(weighted_network(120, arcs), 3);
    for (std::size_t node = 0; node < 120; ++node) {
        CHECK((!after[node] || (before[node] && *before[node] <= *after[node])));
    }
}

TEST_CASE("Everything three times slower takes three times as long") {
    std::mt19937 random(10);
    auto arcs = random_arcs(120, 2.5, random);
    const auto once = typical_from(weighted_network(120, arcs), 3);
    for (WeightedArc& arc : arcs) {
        arc.typical_ds *= 3;
    }
    const auto thrice = typical_from(weighted_network(120, arcs), 3);
    for (std::size_t node = 0; node < 120; ++node) {
        CHECK(thrice[node] == (once[node] ? std::optional(*once[node] * 3) : std::nullopt));
    }
}

TEST_CASE("Other numbers for the places, or roads in another order, change no time") {
    std::mt19937 random(11);
    auto arcs = random_arcs(120, 2.5, random);
    const auto before = typical_from(weighted_network(120, arcs), 3);
    std::vector<std::uint32_t> number(120);
    std::iota(number.begin(), number.end(), 0U);
    std::shuffle(number.begin(), number.end(), random);
    for (WeightedArc& arc : arcs) {
        arc.tail = number[arc.tail];
        arc.head = number[arc.head];
    }
    std::shuffle(arcs.begin(), arcs.end(), random);
    const auto after = typical_from(weighted_network(120, arcs), number[3]);
    for (std::size_t node = 0; node < 120; ++node) {
        CHECK(before[node] == after[number[node]]);
    }
}

TEST_CASE("A road cut in two takes as long as before, typically and as allowed") {
    std::mt19937 random(12);
    const auto arcs = random_arcs(100, 2.5, random);
    std::vector<WeightedArc> halves;
    for (const WeightedArc& arc : arcs) {
        const auto middle = static_cast<std::uint32_t>(100 + halves.size() / 2);
        halves.push_back({arc.tail, middle, arc.typical_ds / 3, arc.variance_ds2 / 3});
        halves.push_back({middle, arc.head, arc.typical_ds - arc.typical_ds / 3,
                          arc.variance_ds2 - arc.variance_ds2 / 3});
    }
    const auto whole = labels_from(weighted_network(100, arcs), 0);
    const auto cut =
        labels_from(weighted_network(static_cast<std::uint32_t>(100 + arcs.size()), halves), 0);
    for (std::size_t node = 0; node < 100; ++node) {
        CHECK(whole[node] == cut[node]);
    }
}

TEST_CASE("Every way that is told consists of open roads and adds up to its time") {
    for (unsigned seed = 1; seed <= 5; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        const auto metric = weighted_network(150, random_arcs(150, 2.2, random));
        const auto snaps = node_snaps(metric->network());
        ReferenceSearch search(metric, make_reference_graph(metric->network()));
        const Departure departure{snaps[0], {}};
        search.run(
            departure, snaps, closed_ds - 1, [](std::size_t, const Label&) {},
            [](std::uint32_t) { return false; });
        for (std::size_t target = 0; target < snaps.size(); ++target) {
            if (!search.label(target).is_reached()) {
                continue;
            }
            Label label = Label::start();
            NodeId here{0};
            for (const ArcPart& part : search.way(departure, snaps, target).parts) {
                CHECK(metric->network().tail(part.arc) == here);
                here = metric->network().head(part.arc);
                label = along(label, *metric, part, {});
            }
            CHECK(here.value == target);
            CHECK(label == search.label(target));
        }
    }
}
