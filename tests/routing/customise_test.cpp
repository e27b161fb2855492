#include "routing/customise.hpp"

#include <doctest/doctest.h>

#include <functional>
#include <numeric>
#include <queue>
#include <random>

#include "routing/buckets.hpp"
#include "routing/node_order.hpp"
#include "routing/sweep.hpp"
#include "routing/unpacker.hpp"
#include "routing/up_search.hpp"
#include "tests/support/made_network.hpp"

using namespace waybourne;
using namespace waybourne::routing;

namespace {

/// Plain Dijkstra over any kind of value: slow and obvious.
template <typename Value>
std::vector<Value> dijkstra(const GraphView& graph, const std::vector<Value>& values,
                            std::uint32_t source) {
    std::vector<Value> best(graph.node_count(), Value::closed());
    using Item = std::pair<Value, std::uint32_t>;
    std::priority_queue<Item, std::vector<Item>, std::greater<>> queue;
    best[source] = Value::none();
    queue.emplace(Value::none(), source);
    while (!queue.empty()) {
        const auto [value, node] = queue.top();
        queue.pop();
        if (best[node] < value) {
            continue;
        }
        for (std::uint32_t a = graph.first_out[node]; a < graph.first_out[node + 1]; ++a) {
            const Value there = sum(value, values[a]);
            if (there < best[graph.head[a]]) {
                best[graph.head[a]] = there;
                queue.emplace(there, graph.head[a]);
            }
        }
    }
    return best;
}

std::vector<Time> times(const std::vector<std::uint32_t>& ds) {
    std::vector<Time> values;
    for (const std::uint32_t one : ds) {
        values.push_back({one});
    }
    return values;
}

std::vector<TimeAndSpread> with_spread(const tests::MadeNetwork& network) {
    std::vector<TimeAndSpread> values;
    for (std::size_t a = 0; a < network.dry_ds.size(); ++a) {
        values.push_back(TimeAndSpread::of(network.dry_ds[a], network.variance_ds2[a]));
    }
    return values;
}

/// Of every arc.
std::vector<std::uint32_t> tails(const GraphView& graph) {
    std::vector<std::uint32_t> tail;
    for (std::uint32_t v = 0; v < graph.node_count(); ++v) {
        tail.resize(graph.first_out[v + 1], v);
    }
    return tail;
}

template <typename Value>
std::vector<BothWays<Value>> customised(const Hierarchy& hierarchy,
                                        const std::vector<Value>& values, unsigned threads = 1) {
    return routing::customised<Value>(hierarchy, std::span<const Value>{values}, threads);
}

/// What the tests run on: road-like and nasty networks.
std::vector<tests::MadeNetwork> networks() {
    std::vector<tests::MadeNetwork> made;
    made.push_back(tests::make_network({.nodes = 1000, .seed = 1}));
    made.push_back(tests::make_network({.nodes = 3000, .seed = 2, .rivers = 5, .islands = 20}));
    made.push_back(tests::make_network({.nodes = 900,
                                        .seed = 3,
                                        .one_way_share = 0.5,
                                        .islands = 5,
                                        .zero_length_share = 0.2,
                                        .huge_share = 0.1,
                                        .closed_share = 0.1,
                                        .parallel_share = 0.2,
                                        .loop_share = 0.1}));
    made.push_back(tests::make_network({.nodes = 7, .seed = 4, .rivers = 0}));
    return made;
}

template <typename Value>
using Search = UpSearch<Value>;

/// Compares every target of some sources, with the way taken; returns how many were compared.
template <typename Value>
std::size_t compare_with_dijkstra(const tests::MadeNetwork& network,
                                  const std::vector<Value>& values, std::uint32_t sources) {
    const auto order = nested_dissection_order(network.view(), {});
    const Hierarchy hierarchy = Hierarchy::build(network.view(), order);
    const auto weights = customised(hierarchy, values);
    const MiddleNotes middles{weights.size()};
    const std::span<const BothWays<Value>> view{weights};
    Unpacker unpacker;
    const auto rank = hierarchy.arrays().rank_of_node;
    Search<Value> from{hierarchy};
    Search<Value> to{hierarchy};
    std::size_t compared = 0;
    for (std::uint32_t i = 0; i < sources; ++i) {
        const std::uint32_t source = i * 7919 % network.node_count();
        const auto oracle = dijkstra(network.view(), values, source);
        std::vector<std::uint32_t> way;
        from.run(hierarchy, view, rank[source], Value::none(), Search<Value>::Direction::from_here);
        for (std::uint32_t target = 0; target < network.node_count(); ++target) {
            to.run(hierarchy, view, rank[target], Value::none(), Search<Value>::Direction::to_here);
            const Meeting<Value> meeting = meet(from, to);
            CAPTURE(source);
            CAPTURE(target);
            REQUIRE(meeting.value == oracle[target]);
            Value resummed = Value::none();
            std::uint32_t at = source;
            unpacker.run(Weighted<Value>{hierarchy, values, view, middles}, from, to, meeting, way);
            for (const std::uint32_t arc : way) {
                REQUIRE((network.first_out[at] <= arc && arc < network.first_out[at + 1]));
                resummed = sum(resummed, values[arc]);
                at = network.head[arc];
            }
            if (meeting.rank != no_rank) {
                REQUIRE(at == target);
                REQUIRE(resummed == meeting.value);
            }
            ++compared;
        }
    }
    return compared;
}

}  // namespace

TEST_CASE("Of three hundred ways over one bridge each, the quickest is told arc by arc") {
    // node 0 and node 1 with middles 2 … 301 between them; only over one of them it is quick
    constexpr std::uint32_t middles_count = 300;
    std::vector<std::uint32_t> first_out{0, middles_count, middles_count};
    std::vector<std::uint32_t> head;
    for (std::uint32_t middle = 2; middle < 2 + middles_count; ++middle) {
        head.push_back(middle);
    }
    for (std::uint32_t middle = 2; middle < 2 + middles_count; ++middle) {
        head.push_back(1);
        first_out.push_back(static_cast<std::uint32_t>(head.size()));
    }
    std::vector<std::uint32_t> order(2 + middles_count);
    std::iota(order.begin(), order.end() - 2, 2U);
    order[middles_count] = 0;
    order[middles_count + 1] = 1;
    const Hierarchy hierarchy = Hierarchy::build({first_out, head}, order);
    const auto rank = hierarchy.arrays().rank_of_node;
    Search<Time> from{hierarchy};
    Search<Time> to{hierarchy};
    Unpacker unpacker;
    for (const std::uint32_t quickest : {0U, 223U, 224U, 254U, 299U}) {
        std::vector<Time> values(head.size(), Time{1000});
        values[quickest] = {1};
        const auto weights = customised(hierarchy, values);
        const MiddleNotes middles{weights.size()};
        const auto met = meet_between<Time>(hierarchy, std::span<const BothWays<Time>>{weights},
                                            rank[0], rank[1], from, to);
        CHECK(met.value.ds == 1001);
        for (const char* asked : {"first, when nobody knows", "again, when it is noted"}) {
            CAPTURE(asked);
            std::vector<std::uint32_t> way;
            unpacker.run(Weighted<Time>{hierarchy, values, weights, middles}, from, to, met, way);
            CHECK(way == std::vector<std::uint32_t>{quickest, middles_count + quickest});
        }
    }
}

TEST_CASE("Every way is as quick as Dijkstra's, and its arcs add up to it") {
    std::size_t compared = 0;
    for (const tests::MadeNetwork& network : networks()) {
        for (const auto* ds : {&network.dry_ds, &network.wet_ds, &network.night_ds}) {
            compared += compare_with_dijkstra(network, times(*ds), 12);
        }
        compared += compare_with_dijkstra(network, with_spread(network), 12);
    }
    MESSAGE("one-to-one comparisons: " << compared);
    CHECK(compared > 200'000);
}

TEST_CASE("Weights near the limit neither wrap nor hide a place that can be reached") {
    // 0 -> 1 -> 2, each almost closed: the second step would pass the limit, the first does not
    const std::vector<std::uint32_t> first_out{0, 1, 2, 2};
    const std::vector<std::uint32_t> head{1, 2};
    const GraphView graph{first_out, head};
    const std::vector<std::uint32_t> order{1, 0, 2};
    const Hierarchy hierarchy = Hierarchy::build(graph, order);
    const auto rank = hierarchy.arrays().rank_of_node;
    const auto distance = [&](const std::vector<Time>& values, std::uint32_t target) {
        const auto weights = customised(hierarchy, values);
        Search<Time> from{hierarchy};
        Search<Time> to{hierarchy};
        from.run(hierarchy, weights, rank[0], Time::none(), Search<Time>::Direction::from_here);
        to.run(hierarchy, weights, rank[target], Time::none(), Search<Time>::Direction::to_here);
        return meet(from, to).value;
    };
    CHECK(distance(times({closed_ds - 1, 0}), 2) == Time{closed_ds - 1});
    CHECK(distance(times({closed_ds - 1, 1}), 1) == Time{closed_ds - 1});
    CHECK(!distance(times({closed_ds - 1, 1}), 2).is_open());
    CHECK(!distance(times({closed_ds - 1, closed_ds - 1}), 2).is_open());
    CHECK(!distance(times({closed_ds, 0}), 1).is_open());
}

TEST_CASE("A spread stays at its greatest instead of running into the time") {
    const auto most = TimeAndSpread::of(5, 0xffffffffU);
    CHECK(sum(most, TimeAndSpread::of(7, 9)) == TimeAndSpread::of(12, 0xffffffffU));
    CHECK(sum(TimeAndSpread::of(1, 2), TimeAndSpread::of(3, 4)) == TimeAndSpread::of(4, 6));
    CHECK(!sum(TimeAndSpread::closed(), most).is_open());
    CHECK(TimeAndSpread::of(4, 9) < TimeAndSpread::of(5, 0));
    CHECK(TimeAndSpread::of(5, 0) < TimeAndSpread::of(5, 1));
}

TEST_CASE("Two threads, and four or eight road conditions at once, give what one at a time gives") {
    const auto network = tests::make_network({.nodes = 4000, .seed = 12, .closed_share = 0.02});
    const Hierarchy hierarchy =
        Hierarchy::build(network.view(), nested_dissection_order(network.view(), {}));
    const std::vector<const std::vector<std::uint32_t>*> conditions{
        &network.dry_ds, &network.wet_ds, &network.night_ds, &network.dry_ds};
    std::vector<Times<4>> four(network.head.size());
    std::vector<Times<8>> eight(network.head.size());
    for (std::size_t a = 0; a < network.head.size(); ++a) {
        for (std::size_t lane = 0; lane < 8; ++lane) {
            (lane < 4 ? four[a].ds[lane] : eight[a].ds[lane - 4]) = (*conditions[lane % 4])[a];
            eight[a].ds[lane] = (*conditions[lane % 4])[a];
        }
    }
    const auto together = customised(hierarchy, four, 2);
    const auto all = customised(hierarchy, eight, 2);
    for (std::size_t lane = 0; lane < 4; ++lane) {
        const auto alone = customised(hierarchy, times(*conditions[lane]));
        CHECK(alone == customised(hierarchy, times(*conditions[lane]), 2));
        for (std::size_t a = 0; a < alone.size(); ++a) {
            REQUIRE(alone[a].up.ds == together[a].up.ds[lane]);
            REQUIRE(alone[a].down.ds == together[a].down.ds[lane]);
            REQUIRE(alone[a].up.ds == all[a].up.ds[lane + 4]);
        }
    }
}

TEST_CASE("Shortcuts are those of a second, slow customisation that knows no arcs, arc for arc") {
    // Dense and pushed instead of pulled: contracting the lowest rank joins all its neighbours.
    std::size_t compared = 0;
    for (const std::uint64_t seed : {21U, 22U, 23U, 24U}) {
        CAPTURE(seed);
        const auto network = tests::make_network({.nodes = 250,
                                                  .seed = seed,
                                                  .one_way_share = 0.2,
                                                  .islands = 3,
                                                  .zero_length_share = 0.1,
                                                  .huge_share = 0.05,
                                                  .closed_share = 0.05,
                                                  .parallel_share = 0.1,
                                                  .loop_share = 0.05});
        const Hierarchy hierarchy =
            Hierarchy::build(network.view(), nested_dissection_order(network.view(), {}));
        const HierarchyArrays& h = hierarchy.arrays();
        const std::uint32_t nodes = network.node_count();
        const auto values = with_spread(network);
        std::vector<TimeAndSpread> dense(std::size_t{nodes} * nodes);
        const auto at = [&](std::uint32_t x, std::uint32_t y) -> TimeAndSpread& {
            return dense[std::size_t{x} * nodes + y];
        };
        for (std::uint32_t v = 0; v < nodes; ++v) {
            for (std::uint32_t a = network.first_out[v]; a < network.first_out[v + 1]; ++a) {
                TimeAndSpread& one = at(h.rank_of_node[v], h.rank_of_node[network.head[a]]);
                one = lesser(one, values[a]);
            }
        }
        for (std::uint32_t x = 0; x < nodes; ++x) {
            for (std::uint32_t y = x + 1; y < nodes; ++y) {
                for (std::uint32_t z = x + 1; z < nodes; ++z) {
                    at(y, z) = lesser(at(y, z), sum(at(y, x), at(x, z)));
                }
            }
        }
        const auto weights = customised(hierarchy, values);
        for (std::uint32_t x = 0; x < nodes; ++x) {
            for (std::uint32_t y = x + 1; y < nodes; ++y, compared += 2) {
                const std::uint32_t arc = h.up_arc(x, y);
                const auto fast = arc == no_arc ? BothWays<TimeAndSpread>{} : weights[arc];
                REQUIRE(fast.up == at(x, y));
                REQUIRE(fast.down == at(y, x));
            }
        }
    }
    MESSAGE("shortcuts compared: " << compared);
    CHECK(compared > 200'000);
}

TEST_CASE(
    "In whatever order a network is contracted, and on however many threads, no time changes") {
    constexpr unsigned seed = 31;
    CAPTURE(seed);
    std::mt19937 random{seed};
    std::size_t compared = 0;
    for (const tests::MadeNetwork& network : networks()) {
        const std::uint32_t nodes = std::min<std::uint32_t>(network.node_count(), 1000);
        if (nodes < network.node_count()) {
            continue;  // a bad order of many nodes has too many shortcuts for a quick test
        }
        std::vector<std::vector<std::uint32_t>> orders{
            nested_dissection_order(network.view(), {}), {}, {}};
        for (std::uint32_t v = 0; v < nodes; ++v) {
            orders[1].push_back(v);
        }
        orders[2] = orders[1];
        std::stable_sort(orders[1].begin(), orders[1].end(), [&](std::uint32_t a, std::uint32_t b) {
            return network.first_out[a + 1] - network.first_out[a] <
                   network.first_out[b + 1] - network.first_out[b];
        });
        std::shuffle(orders[2].begin(), orders[2].end(), random);
        const auto values = with_spread(network);
        for (const auto& order : orders) {
            const Hierarchy hierarchy = Hierarchy::build(network.view(), order);
            const auto weights = customised(hierarchy, values);
            for (const unsigned threads : {2U, 3U, 7U}) {
                REQUIRE(customised(hierarchy, values, threads) == weights);
            }
            const std::span<const BothWays<TimeAndSpread>> view{weights};
            const auto rank = hierarchy.arrays().rank_of_node;
            Search<TimeAndSpread> from{hierarchy};
            Search<TimeAndSpread> to{hierarchy};
            for (std::uint32_t source = 0; source < nodes; source += 1 + nodes / 5) {
                const auto oracle = dijkstra(network.view(), values, source);
                from.run(hierarchy, view, rank[source], TimeAndSpread::none(),
                         Search<TimeAndSpread>::Direction::from_here);
                for (std::uint32_t target = 0; target < nodes; ++target, ++compared) {
                    to.run(hierarchy, view, rank[target], TimeAndSpread::none(),
                           Search<TimeAndSpread>::Direction::to_here);
                    REQUIRE(meet(from, to).value == oracle[target]);
                }
            }
        }
    }
    MESSAGE("times compared: " << compared);
    CHECK(compared > 20'000);
}

TEST_CASE("Perfect customisation gives every up arc the exact distance between its ends") {
    for (const tests::MadeNetwork& network : networks()) {
        const Hierarchy hierarchy =
            Hierarchy::build(network.view(), nested_dissection_order(network.view(), {}));
        const HierarchyArrays& h = hierarchy.arrays();
        const auto values = times(network.dry_ds);
        auto weights = customised(hierarchy, values);
        make_perfect<Time>(hierarchy, weights);
        for (std::uint32_t x = 0; x < hierarchy.node_count();
             x += 1 + hierarchy.node_count() / 40) {
            const auto oracle = dijkstra(network.view(), values, h.node_of_rank[x]);
            for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
                REQUIRE(weights[a].up == oracle[h.node_of_rank[h.up_head[a]]]);
            }
        }
    }
}

TEST_CASE("After closures and re-openings a partial customisation equals a full one, bit for bit") {
    constexpr unsigned seed = 77;
    CAPTURE(seed);
    std::mt19937 random{seed};
    for (const tests::MadeNetwork& network : networks()) {
        const Hierarchy hierarchy =
            Hierarchy::build(network.view(), nested_dissection_order(network.view(), {}));
        const auto original = with_spread(network);
        const std::vector<std::uint32_t> tail = tails(network.view());
        auto values = original;
        auto weights = customised(hierarchy, values);
        for (int step = 0; step < 60; ++step) {
            std::vector<UpArc> changed;
            const std::size_t count = std::size_t{1} << (random() % 7);
            for (std::size_t i = 0; i < count; ++i) {
                const auto arc = static_cast<std::uint32_t>(random() % values.size());
                changed.push_back(hierarchy.up_arc(tail[arc], network.head[arc]));
                const auto kind = random() % 4;
                values[arc] = kind == 0   ? TimeAndSpread::closed()
                              : kind == 1 ? TimeAndSpread::of(5 * (arc % 1000), arc % 4999)
                                          : original[arc];
            }
            const auto before = weights;
            const auto different =
                customise_again<TimeAndSpread>(hierarchy, values, changed, weights);
            REQUIRE(weights == customised(hierarchy, values));
            std::vector<std::uint32_t> expected;
            for (std::uint32_t a = 0; a < weights.size(); ++a) {
                if (weights[a] != before[a]) {
                    expected.push_back(a);
                }
            }
            REQUIRE(different == expected);
        }
    }
}

TEST_CASE("The nearest places are those a full search finds, and equal ones come by number") {
    constexpr unsigned seed = 5;
    CAPTURE(seed);
    std::mt19937 random{seed};
    for (const tests::MadeNetwork& network : networks()) {
        const Hierarchy hierarchy =
            Hierarchy::build(network.view(), nested_dissection_order(network.view(), {}));
        const auto rank = hierarchy.arrays().rank_of_node;
        const auto values = times(network.dry_ds);
        const auto weights = customised(hierarchy, values);
        const std::span<const BothWays<Time>> view{weights};
        using Found = Buckets<Time>::Found;
        Buckets<Time> buckets{hierarchy};
        std::vector<std::uint32_t> node_of_place;
        for (std::uint32_t place = 0; place < 40; ++place) {
            node_of_place.push_back(static_cast<std::uint32_t>(random()) % network.node_count());
            buckets.add(hierarchy, view, rank[node_of_place.back()], place, Time::none());
        }
        const std::uint32_t removed = 3;
        buckets.remove(removed);
        Search<Time> search{hierarchy};
        for (int query = 0; query < 60; ++query) {
            const std::uint32_t source =
                static_cast<std::uint32_t>(random()) % network.node_count();
            const std::uint32_t modulus = 1 + static_cast<std::uint32_t>(random()) % 5;
            const std::size_t count = 1 + random() % 6;
            const auto accept = [&](std::uint32_t place) { return place % modulus == 0; };
            std::vector<Found> found;
            NearestSearch<Time>{hierarchy, view, buckets, search}.find(rank[source], Time::none(),
                                                                       count, accept, found);
            std::vector<Found> expected;
            const auto oracle = dijkstra(network.view(), values, source);
            for (std::uint32_t place = 0; place < node_of_place.size(); ++place) {
                const Time time = oracle[node_of_place[place]];
                if (accept(place) && place != removed && time.is_open()) {
                    expected.push_back({time, place});
                }
            }
            std::sort(expected.begin(), expected.end());
            expected.resize(std::min(count, expected.size()));
            REQUIRE(found == expected);
        }
    }
}

TEST_CASE("One sweep finds the time to every place, and every place's nearest") {
    for (const tests::MadeNetwork& network : networks()) {
        const Hierarchy hierarchy =
            Hierarchy::build(network.view(), nested_dissection_order(network.view(), {}));
        const auto rank = hierarchy.arrays().rank_of_node;
        const auto values = times(network.wet_ds);
        const auto weights = customised(hierarchy, values);
        const SweepArcs arcs{hierarchy, weights};
        std::vector<SweepStart> starts;
        for (std::uint32_t i = 0; i < std::min<std::uint32_t>(16, network.node_count()); ++i) {
            starts.push_back({rank[i * 613 % network.node_count()], 10 * i, i});
        }
        std::vector<std::vector<Time>> oracles;
        for (const SweepStart& start : starts) {
            oracles.push_back(
                dijkstra(network.view(), values, hierarchy.arrays().node_of_rank[start.rank]));
        }
        const auto plus = [](Time time, std::uint32_t ds) {
            return std::min(closed_ds, time.ds + ds);
        };
        for (const unsigned threads : {1U, 2U}) {
            CAPTURE(threads);
            std::vector<std::uint32_t> ds(network.node_count());
            sweep_from(hierarchy, arcs, starts, ds, threads);
            std::vector<std::uint32_t> lanes(ds.size() * sweep_lanes);
            sweep_lanes_from(hierarchy, arcs, starts, lanes, threads);
            for (std::uint32_t node = 0; node < network.node_count(); ++node) {
                std::uint32_t expected = closed_ds;
                for (std::size_t i = 0; i < starts.size(); ++i) {
                    const std::uint32_t one = plus(oracles[i][node], starts[i].ds);
                    expected = std::min(expected, one);
                    REQUIRE(lanes[rank[node] * sweep_lanes + i] == one);
                }
                REQUIRE(ds[rank[node]] == expected);
            }
        }
        std::vector<std::uint64_t> keys(network.node_count());
        sweep_to_nearest(hierarchy, arcs, starts, keys, 2);
        for (std::uint32_t node = 0; node < network.node_count(); node += 7) {
            const auto from = dijkstra(network.view(), values, node);
            std::uint64_t expected = nowhere;
            for (const SweepStart& start : starts) {
                const std::uint32_t ds =
                    plus(from[hierarchy.arrays().node_of_rank[start.rank]], start.ds);
                if (ds < closed_ds) {
                    expected = std::min(expected, std::uint64_t{ds} << 32 | start.place);
                }
            }
            const std::uint64_t key = keys[rank[node]];
            REQUIRE(nearest_ds(key) == nearest_ds(expected));
            if (nearest_ds(key) < closed_ds) {
                REQUIRE(nearest_place(key) == nearest_place(expected));
            }
        }
    }
}

TEST_CASE("Three sweeps together are each as if it went alone, under weights of its own") {
    for (const tests::MadeNetwork& network : networks()) {
        const Hierarchy hierarchy =
            Hierarchy::build(network.view(), nested_dissection_order(network.view(), {}));
        const auto dry = times(network.dry_ds);
        const auto wet = times(network.wet_ds);
        const SweepArcs dry_arcs{hierarchy, customised(hierarchy, dry)};
        const SweepArcs wet_arcs{hierarchy, customised(hierarchy, wet)};
        const auto rank = hierarchy.arrays().rank_of_node;
        const auto start_at = [&](std::uint32_t node, std::uint32_t ds) {
            return std::vector<SweepStart>{{rank[node % network.node_count()], ds, 0}};
        };
        const auto one = start_at(7, 0);
        const auto other = start_at(11, 30);
        auto targets = start_at(13, 20);
        targets.push_back(start_at(17, 50).front());
        std::vector<std::uint32_t> together(network.node_count() * together_stride);
        sweep_together(
            hierarchy,
            std::array{TogetherSweep{dry_arcs, false, one}, TogetherSweep{wet_arcs, false, other},
                       TogetherSweep{wet_arcs, true, targets}},
            together);
        std::vector<std::uint32_t> from_one(network.node_count());
        std::vector<std::uint32_t> from_other(network.node_count());
        std::vector<std::uint64_t> to_nearest(network.node_count());
        sweep_from(hierarchy, dry_arcs, one, from_one);
        sweep_from(hierarchy, wet_arcs, other, from_other);
        sweep_to_nearest(hierarchy, wet_arcs, targets, to_nearest);
        for (std::uint32_t x = 0; x < network.node_count(); ++x) {
            const std::uint32_t* const ds = together.data() + std::size_t{x} * together_stride;
            REQUIRE(ds[0] == from_one[x]);
            REQUIRE(ds[1] == from_other[x]);
            REQUIRE(ds[2] == nearest_ds(to_nearest[x]));
        }
    }
}
