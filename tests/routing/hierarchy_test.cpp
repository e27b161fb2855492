#include "routing/hierarchy.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <numeric>

#include "routing/node_order.hpp"
#include "tests/support/made_network.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;

namespace {

struct Arcs {
    std::vector<std::uint32_t> first_out;
    std::vector<std::uint32_t> head;
    GraphView view() const { return {first_out, head}; }
};

/// Both directions of every pair.
Arcs undirected(std::uint32_t nodes,
                const std::vector<std::pair<std::uint32_t, std::uint32_t>>& pairs) {
    std::vector<std::vector<std::uint32_t>> neighbours(nodes);
    for (const auto& [a, b] : pairs) {
        neighbours[a].push_back(b);
        neighbours[b].push_back(a);
    }
    Arcs arcs{{0}, {}};
    for (const auto& list : neighbours) {
        arcs.head.insert(arcs.head.end(), list.begin(), list.end());
        arcs.first_out.push_back(static_cast<std::uint32_t>(arcs.head.size()));
    }
    return arcs;
}

Arcs path(std::uint32_t nodes) {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> pairs;
    for (std::uint32_t i = 0; i + 1 < nodes; ++i) {
        pairs.emplace_back(i, i + 1);
    }
    return undirected(nodes, pairs);
}

Arcs clique(std::uint32_t nodes) {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> pairs;
    for (std::uint32_t i = 0; i < nodes; ++i) {
        for (std::uint32_t j = i + 1; j < nodes; ++j) {
            pairs.emplace_back(i, j);
        }
    }
    return undirected(nodes, pairs);
}

std::vector<std::uint32_t> ascending(std::uint32_t nodes) {
    std::vector<std::uint32_t> order(nodes);
    std::iota(order.begin(), order.end(), 0U);
    return order;
}

/// The middle of every stretch last.
void dissect_path(std::uint32_t begin, std::uint32_t end, std::vector<std::uint32_t>& order) {
    if (begin == end) {
        return;
    }
    const std::uint32_t middle = (begin + end) / 2;
    dissect_path(begin, middle, order);
    dissect_path(middle + 1, end, order);
    order.push_back(middle);
}

std::uint64_t triangles(const Hierarchy& hierarchy) {
    std::uint64_t count = 0;
    const auto first = hierarchy.arrays().up_first;
    for (std::size_t x = 0; x + 1 < first.size(); ++x) {
        const std::uint64_t degree = first[x + 1] - first[x];
        count += degree * (degree - 1) / 2;
    }
    return count;
}

}  // namespace

TEST_CASE("A path cut in its middle again and again has height ceil(log2(n + 1))") {
    // closed form; every level of the tree holds the middles of twice as many stretches
    for (const std::uint32_t nodes : {1U, 2U, 3U, 7U, 8U, 100U, 1023U, 1024U}) {
        CAPTURE(nodes);
        std::vector<std::uint32_t> order;
        dissect_path(0, nodes, order);
        std::uint32_t height = 0;
        while ((1U << height) < nodes + 1) {
            ++height;
        }
        CHECK(Hierarchy::build(path(nodes).view(), order).height() == height);
    }
}

TEST_CASE("A clique of n has n(n-1)/2 up arcs and n(n-1)(n-2)/6 triangles, in any order") {
    const std::uint32_t n = 17;
    const Hierarchy hierarchy = Hierarchy::build(clique(n).view(), ascending(n));
    CHECK(hierarchy.arc_count() == n * (n - 1) / 2);
    CHECK(triangles(hierarchy) == n * (n - 1) * (n - 2) / 6);
    CHECK(hierarchy.height() == n);
}

TEST_CASE("A tree contracted from its leaves needs no shortcut") {
    // a binary tree of 1023 nodes, children 2i+1 and 2i+2: descending numbers are leaves first
    std::vector<std::pair<std::uint32_t, std::uint32_t>> pairs;
    for (std::uint32_t i = 1; i < 1023; ++i) {
        pairs.emplace_back(i, (i - 1) / 2);
    }
    std::vector<std::uint32_t> order = ascending(1023);
    std::reverse(order.begin(), order.end());
    CHECK(Hierarchy::build(undirected(1023, pairs).view(), order).arc_count() == 1022);
}

TEST_CASE("Loops and parallel arcs add nothing to the hierarchy") {
    const Arcs arcs{{0, 4, 6, 7}, {0, 1, 1, 2, 0, 0, 2}};
    const Hierarchy hierarchy = Hierarchy::build(arcs.view(), ascending(3));
    // 0-1, 0-2 and the shortcut 1-2
    CHECK(hierarchy.arc_count() == 3);
    CHECK(hierarchy.up_arc(0, 0).arc == no_arc);
    CHECK(hierarchy.up_arc(1, 0).arc == hierarchy.up_arc(0, 1).arc);
    CHECK(hierarchy.arrays().in_arc.size() == 5);
}

TEST_CASE("An order that is not a permutation is refused") {
    const Arcs arcs = path(3);
    CHECK_THROWS_AS(Hierarchy::build(arcs.view(), std::vector<std::uint32_t>{0, 1}), InputError);
    CHECK_THROWS_AS(Hierarchy::build(arcs.view(), std::vector<std::uint32_t>{0, 1, 1}), InputError);
    CHECK_THROWS_AS(Hierarchy::build(arcs.view(), std::vector<std::uint32_t>{0, 1, 3}), InputError);
}

TEST_CASE("The smallest networks are networks too") {
    const Arcs nothing{{0}, {}};
    CHECK(Hierarchy::build(nothing.view(), {}).height() == 0);
    const Arcs alone{{0, 1}, {0}};
    CHECK(Hierarchy::build(alone.view(), ascending(1)).height() == 1);
    CHECK(nested_dissection_order(alone.view(), {}) == ascending(1));
    CHECK(nested_dissection_order(nothing.view(), {}).empty());
}

TEST_CASE("Every up arc runs to an ancestor, and what two see above is seen from the lower too") {
    const auto network = tests::make_network(
        {.nodes = 5000, .seed = 4, .islands = 3, .parallel_share = 0.05, .loop_share = 0.05});
    const auto order = nested_dissection_order(network.view(), {});
    const Hierarchy hierarchy = Hierarchy::build(network.view(), order);
    const HierarchyArrays& h = hierarchy.arrays();
    for (std::uint32_t x = 0; x < hierarchy.node_count(); ++x) {
        const auto above = h.up_head.subspan(h.up_first[x], h.up_first[x + 1] - h.up_first[x]);
        REQUIRE(std::is_sorted(above.begin(), above.end()));
        REQUIRE((above.empty() ? h.parent[x] == no_rank : h.parent[x] == above.front()));
        for (std::size_t i = 0; i < above.size(); ++i) {
            REQUIRE(above[i] > x);
            REQUIRE(h.depth[above[i]] < h.depth[x]);
            if (i > 0) {  // chordal: x's lowest upper neighbour sees all the others
                const auto of_parent = h.up_head.subspan(
                    h.up_first[above[0]], h.up_first[above[0] + 1] - h.up_first[above[0]]);
                REQUIRE(std::binary_search(of_parent.begin(), of_parent.end(), above[i]));
            }
        }
    }
    SUBCASE("and every arc of the network is found again from both sides") {
        std::size_t loops = 0;
        for (std::uint32_t v = 0; v < network.node_count(); ++v) {
            for (std::uint32_t a = network.first_out[v]; a < network.first_out[v + 1]; ++a) {
                const UpArc up = hierarchy.up_arc(v, network.head[a]);
                if (network.head[a] == v) {
                    ++loops;
                    CHECK(up.arc == no_arc);
                    continue;
                }
                const std::uint32_t x = h.rank_of_node[v];
                const std::uint32_t y = h.rank_of_node[network.head[a]];
                REQUIRE(up.tail == std::min(x, y));
                REQUIRE(h.up_head[up.arc] == std::max(x, y));
                std::size_t times = 0;
                h.for_each_network_arc(up.tail, up.arc, [&](std::uint32_t arc, bool runs_up) {
                    times += arc == a && runs_up == (x < y) ? 1 : 0;
                });
                REQUIRE(times == 1);
            }
        }
        CHECK(loops > 0);
        CHECK(h.in_arc.size() + loops == network.head.size());
    }
    SUBCASE("and every up arc is found from its head, and knows its tail and where its row ends") {
        std::size_t seen = 0;
        for (std::uint32_t x = 0; x < hierarchy.node_count(); ++x) {
            for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
                REQUIRE(h.tail(a) == x);
                REQUIRE(h.row_end(a) == h.up_first[x + 1]);
                REQUIRE(h.up_arc(x, h.up_head[a]) == a);
            }
            for (std::uint32_t i = h.down_first[x]; i < h.down_first[x + 1]; ++i) {
                REQUIRE(h.up_head[h.down_arc[i]] == x);
                REQUIRE((i == h.down_first[x] || h.down_arc[i - 1] < h.down_arc[i]));
                ++seen;
            }
        }
        CHECK(seen == hierarchy.arc_count());
        CHECK(h.up_arc(hierarchy.node_count() - 1, 0) == no_arc);
    }
    SUBCASE("and jobs do not depend on each other") {
        for (std::size_t job = 0; job + 1 < h.job_first.size(); ++job) {
            for (std::uint32_t x = h.job_first[job]; x < h.job_first[job + 1]; ++x) {
                for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
                    REQUIRE((h.up_head[a] < h.job_first[job + 1] ||
                             h.up_head[a] >= h.job_first.back()));
                }
            }
        }
    }
}

TEST_CASE("What a hierarchy takes in memory follows from its numbers of nodes and arcs") {
    // a path of n nodes: n - 1 up arcs without any fill, 2(n - 1) arcs of the network
    const std::uint32_t n = 1000;
    std::vector<std::uint32_t> order;
    dissect_path(0, n, order);
    const Hierarchy hierarchy = Hierarchy::build(path(n).view(), order);
    const std::size_t up_arcs = hierarchy.arc_count();
    const std::size_t arcs = 2 * (n - 1);
    CHECK(up_arcs >= n - 1);
    const std::size_t by_node = 4 * (4 * n + 3 * (n + 1));
    const std::size_t by_up_arc =
        4 * 2 * up_arcs + 8 * (up_arcs / 64 + 1) + 4 * ((up_arcs + 63) / 64);
    const std::size_t jobs = 4 * hierarchy.arrays().job_first.size();
    CHECK(hierarchy.bytes() == by_node + by_up_arc + (4 + 2) * arcs + jobs);
}

TEST_CASE("The same network gives the same order, byte for byte") {
    const auto network = tests::make_network({.nodes = 2000, .seed = 9});
    const auto first = nested_dissection_order(network.view(), {});
    CHECK(nested_dissection_order(network.view(), {}) == first);
    auto sorted = first;
    std::sort(sorted.begin(), sorted.end());
    CHECK(sorted == ascending(2000));
}
