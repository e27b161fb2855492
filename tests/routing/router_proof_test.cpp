#include <doctest/doctest.h>

#include <boost/graph/compressed_sparse_row_graph.hpp>
#include <boost/graph/dijkstra_shortest_paths.hpp>
#include <filesystem>
#include <map>
#include <random>

#include "routing/buckets.hpp"
#include "routing/customise.hpp"
#include "routing/sweep.hpp"
#include "routing/unpacker.hpp"
#include "tests/bench/bench_network.hpp"
#include "tests/bench/boost_yardstick.hpp"
#include "tests/routing/bisection_order.hpp"
#include "tests/routing/map_fixture.hpp"
#include "tests/support/made_network.hpp"
#include "tests/support/sanitized.hpp"

// The oracle is Dijkstra's algorithm of Boost.Graph on its compressed sparse row graph. Every kind
// of question is compared on every network under every set of weights; the counts are printed.

using namespace waybourne;
using namespace waybourne::routing;
using bench::BenchNetwork;
using bench::BoostYardstick;

namespace {

constexpr std::uint32_t largest = tests::is_sanitized ? 3'000 : 1'000'000;

/// Comparisons by kind of question.
std::map<std::string, std::size_t>& counts() {
    static std::map<std::string, std::size_t> all;
    return all;
}

std::vector<Time> to_times(const std::vector<std::uint32_t>& ds) {
    std::vector<Time> values;
    values.reserve(ds.size());
    for (const std::uint32_t one : ds) {
        values.push_back({one});
    }
    return values;
}

/// One network under one set of weights (its dry-day times), with its oracle.
class Proof {
public:
    Proof(const BenchNetwork& network, const Hierarchy& hierarchy)
        : network_(network),
          hierarchy_(hierarchy),
          boost_(network),
          values_(to_times(network.dry_ds)),
          weights_(customised<Time>(hierarchy, values_)),
          middles_(weights_.size()),
          arcs_(hierarchy, weights_),
          random_(network.node_count()) {}

    std::uint32_t any_node() {
        return static_cast<std::uint32_t>(random_() % network_.node_count());
    }
    std::uint32_t rank(std::uint32_t node) const { return hierarchy_.arrays().rank_of_node[node]; }

    /// From a few nodes to every node: one at a time, and as lanes of one pass.
    void compare_sweeps() {
        std::vector<std::uint32_t> ds(network_.node_count());
        std::vector<std::uint32_t> lanes(ds.size() * sweep_lanes);
        const std::vector<std::uint32_t> sources{any_node(), any_node()};
        const std::vector<SweepStart> starts{{rank(sources[0]), 0, 0}, {rank(sources[1]), 0, 1}};
        sweep_lanes_from(hierarchy_, arcs_, starts, lanes, 2);
        for (std::size_t i = 0; i < sources.size(); ++i) {
            const auto oracle = boost_.one_to_all(sources[i]);
            sweep_from(hierarchy_, arcs_, std::span(starts).subspan(i, 1), ds, 1 + i % 2);
            std::size_t wrong = 0;
            for (std::uint32_t node = 0; node < network_.node_count(); ++node) {
                wrong += ds[rank(node)] != oracle[node] ? 1 : 0;
                wrong += lanes[std::size_t{rank(node)} * sweep_lanes + i] != oracle[node] ? 1 : 0;
            }
            CHECK(wrong == 0);
            counts()["one to all"] += network_.node_count();
            counts()["one to all, in lanes"] += network_.node_count();
        }
    }

    /// From every node to the nearest place: the time, and that the place named is that far.
    void compare_all_to_nearest() {
        const bench::TurnedRound turned = bench::turned_round(network_);
        BoostYardstick from_places{turned.network};
        std::vector<std::uint32_t> nodes;
        std::vector<SweepStart> starts;
        for (std::uint32_t place = 0; place < 20; ++place) {
            nodes.push_back(any_node());
            starts.push_back({rank(nodes.back()), 0, place});
        }
        std::vector<std::uint64_t> keys(network_.node_count());
        sweep_to_nearest(hierarchy_, arcs_, starts, keys, 2);
        const auto oracle = from_places.several_to_all(nodes).ds;
        std::size_t wrong = 0;
        for (std::uint32_t node = 0; node < network_.node_count(); ++node) {
            wrong += nearest_ds(keys[rank(node)]) != oracle[node] ? 1 : 0;
        }
        const std::uint32_t place = nearest_place(keys[rank(nodes.front())]);
        const auto to_place = from_places.one_to_all(nodes[place]);
        for (std::uint32_t node = 0; node < network_.node_count(); ++node) {
            const std::uint64_t key = keys[rank(node)];
            const bool is_named = nearest_ds(key) < closed_ds && nearest_place(key) == place;
            // a place with a lower number wins where both are equally near
            wrong += is_named && to_place[node] != nearest_ds(key) ? 1 : 0;
            wrong += to_place[node] < nearest_ds(key) ? 1 : 0;
        }
        CHECK(wrong == 0);
        counts()["everywhere to the nearest"] += 2 * network_.node_count();
    }

    /// One to one with the way itself, and the nearest places: from one node each.
    void compare_queries(std::size_t targets) {
        const std::uint32_t source = any_node();
        const auto oracle = boost_.one_to_all(source);
        const std::span<const BothWays<Time>> weights{weights_};
        UpSearch<Time> from{hierarchy_};
        UpSearch<Time> to{hierarchy_};
        Unpacker unpacker;
        std::vector<std::uint32_t> way;
        for (std::size_t i = 0; i < targets; ++i) {
            const std::uint32_t target = any_node();
            const auto met =
                meet_between<Time>(hierarchy_, weights, rank(source), rank(target), from, to);
            REQUIRE(met.value.ds == oracle[target]);
            unpacker.run(Weighted<Time>{hierarchy_, values_, weights, middles_}, from, to, met,
                         way);
            check_way(source, target, met.value, way);
        }
        counts()["one to one"] += targets;
        counts()["ways added up"] += targets;
        compare_nearest(source, oracle);
    }

private:
    void check_way(std::uint32_t source, std::uint32_t target, Time time,
                   const std::vector<std::uint32_t>& way) const {
        std::uint32_t at = source;
        Time total = Time::none();
        for (const std::uint32_t arc : way) {
            REQUIRE((network_.first_out[at] <= arc && arc < network_.first_out[at + 1]));
            total = sum(total, values_[arc]);
            at = network_.head[arc];
        }
        if (time.is_open()) {
            REQUIRE(at == target);
            REQUIRE(total == time);
        } else {
            REQUIRE(way.empty());
        }
    }

    void compare_nearest(std::uint32_t source, std::span<const std::uint32_t> oracle) {
        using Found = Buckets<Time>::Found;
        Buckets<Time> buckets{hierarchy_};
        std::vector<Found> expected;
        for (std::uint32_t place = 0; place < 60; ++place) {
            const std::uint32_t node = any_node();
            buckets.add(hierarchy_, weights_, rank(node), place, Time::none());
            if (place % 4 != 1 && oracle[node] < closed_ds) {
                expected.push_back({{oracle[node]}, place});
            }
        }
        std::sort(expected.begin(), expected.end());
        UpSearch<Time> search{hierarchy_};
        for (const std::size_t count : {1U, 3U, 10U}) {
            std::vector<Found> found;
            NearestSearch<Time>{hierarchy_, weights_, buckets, search}.find(
                rank(source), Time::none(), count,
                [](std::uint32_t place) { return place % 4 != 1; }, found);
            REQUIRE(found.size() == std::min(count, expected.size()));
            REQUIRE(std::equal(found.begin(), found.end(), expected.begin()));
            counts()["nearest places"] += count;
        }
    }

    const BenchNetwork& network_;
    const Hierarchy& hierarchy_;
    BoostYardstick boost_;
    std::vector<Time> values_;
    std::vector<BothWays<Time>> weights_;
    MiddleNotes middles_;
    SweepArcs arcs_;
    std::mt19937 random_;
};

/// Time and spread together, by Boost over pairs: the least time, then the least spread.
void compare_spreads(const BenchNetwork& network, const Hierarchy& hierarchy) {
    using Csr =
        boost::compressed_sparse_row_graph<boost::directedS, boost::no_property, TimeAndSpread,
                                           boost::no_property, std::uint32_t, std::uint32_t>;
    const std::vector<std::uint32_t> variance = network.variance_ds2();
    const std::vector<std::uint32_t> tails = network.tails();
    std::vector<TimeAndSpread> values;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> open;
    std::vector<TimeAndSpread> open_values;
    for (std::size_t arc = 0; arc < variance.size(); ++arc) {
        const bool is_open = network.dry_ds[arc] < closed_ds;
        values.push_back(is_open ? TimeAndSpread::of(network.dry_ds[arc], variance[arc])
                                 : TimeAndSpread::closed());
        if (is_open) {
            open.emplace_back(tails[arc], network.head[arc]);
            open_values.push_back(values.back());
        }
    }
    const Csr csr(boost::edges_are_sorted, open.begin(), open.end(), open_values.begin(),
                  network.node_count());
    const auto weights = customised<TimeAndSpread>(hierarchy, values);
    const std::uint32_t source = network.node_count() / 3;
    std::vector<TimeAndSpread> oracle(network.node_count());
    boost::dijkstra_shortest_paths(
        csr, source,
        boost::distance_map(
            boost::make_iterator_property_map(oracle.begin(), get(boost::vertex_index, csr)))
            .weight_map(get(boost::edge_bundle, csr))
            .distance_inf(TimeAndSpread::closed())
            .distance_zero(TimeAndSpread::none())
            .distance_combine([](TimeAndSpread a, TimeAndSpread b) { return sum(a, b); }));
    UpSearch<TimeAndSpread> from{hierarchy};
    UpSearch<TimeAndSpread> to{hierarchy};
    const auto rank = hierarchy.arrays().rank_of_node;
    const std::uint32_t step = 1 + network.node_count() / 3000;
    for (std::uint32_t target = 0; target < network.node_count(); target += step) {
        const auto met =
            meet_between<TimeAndSpread>(hierarchy, weights, rank[source], rank[target], from, to);
        REQUIRE(met.value == oracle[target]);
        ++counts()["time and spread"];
    }
}

/// Some roads close, some become slower, some open: the weights brought up to date equal the
/// oracle's on the changed network.
void compare_after_changes(BenchNetwork network, const Hierarchy& hierarchy) {
    std::mt19937 random{network.arc_count()};
    std::vector<Time> values = to_times(network.dry_ds);
    auto weights = customised<Time>(hierarchy, values);
    const std::vector<std::uint32_t> tails = network.tails();
    std::vector<UpArc> changed;
    for (std::size_t i = 0; i < 40; ++i) {
        const auto arc = static_cast<std::uint32_t>(random() % network.arc_count());
        network.dry_ds[arc] = i % 3 == 0   ? closed_ds
                              : i % 3 == 1 ? std::min(closed_ds, network.dry_ds[arc] * 2)
                                           : network.dry_ds[arc] / 2;
        values[arc] = {network.dry_ds[arc]};
        changed.push_back(hierarchy.up_arc(tails[arc], network.head[arc]));
    }
    std::erase_if(changed, [](const UpArc& arc) { return arc.arc == no_arc; });
    customise_again<Time>(hierarchy, values, changed, weights);
    const SweepArcs arcs{hierarchy, weights};
    std::vector<std::uint32_t> ds(network.node_count());
    const std::uint32_t source = network.node_count() / 2;
    const auto rank = hierarchy.arrays().rank_of_node;
    sweep_from(hierarchy, arcs, std::vector<SweepStart>{{rank[source], 0, 0}}, ds);
    BoostYardstick boost{network};
    const auto oracle = boost.one_to_all(source);
    std::size_t wrong = 0;
    for (std::uint32_t node = 0; node < network.node_count(); ++node) {
        wrong += ds[rank[node]] != oracle[node] ? 1 : 0;
    }
    CHECK(wrong == 0);
    counts()["after closures"] += network.node_count();
}

void prove(BenchNetwork network, std::size_t targets) {
    CAPTURE(network.name);
    const Hierarchy hierarchy = Hierarchy::build(
        network.view(),
        tests::bisection_order(network.view(), network.latitude, network.longitude));
    compare_spreads(network, hierarchy);
    for (const auto* ds : {&network.wet_ds, &network.night_ds, &network.dry_ds}) {
        BenchNetwork under = network;
        under.dry_ds = *ds;
        Proof proof{under, hierarchy};
        proof.compare_sweeps();
        proof.compare_all_to_nearest();
        proof.compare_queries(targets);
        if (network.node_count() > 300'000) {
            return;  // one set of weights is enough for the largest
        }
        compare_after_changes(under, hierarchy);
    }
}

BenchNetwork made(const tests::MadeNetworkSettings& settings) {
    BenchNetwork network = bench::bench_network_of(tests::make_network(settings));
    network.name = std::to_string(settings.nodes) + " nodes, seed " + std::to_string(settings.seed);
    return network;
}

}  // namespace

TEST_CASE("On made-up roads, plain and nasty, every answer is Dijkstra's") {
    for (const std::uint32_t nodes : {1'000U, 3'000U, 10'000U}) {
        if (nodes > largest) {
            continue;
        }
        prove(made({.nodes = nodes, .seed = 1, .rivers = 0}), 500);
        prove(made({.nodes = nodes, .seed = 2, .rivers = 6}), 500);
        prove(made({.nodes = nodes, .seed = 3, .one_way_share = 0.6}), 500);
        prove(made({.nodes = nodes, .seed = 4, .islands = nodes / 50}), 500);
        prove(made({.nodes = nodes, .seed = 5, .zero_length_share = 0.3, .huge_share = 0.1}), 500);
        prove(made({.nodes = nodes, .seed = 6, .closed_share = 0.15}), 500);
        prove(made({.nodes = nodes, .seed = 7, .parallel_share = 0.3, .loop_share = 0.2}), 500);
        prove(made({.nodes = nodes,
                    .seed = 8,
                    .rivers = 4,
                    .one_way_share = 0.3,
                    .islands = 9,
                    .zero_length_share = 0.1,
                    .huge_share = 0.05,
                    .closed_share = 0.1,
                    .parallel_share = 0.1,
                    .loop_share = 0.1}),
              500);
    }
}

TEST_CASE("On a province and on a country every answer is Dijkstra's") {
    for (const std::uint32_t nodes : {100'000U, 1'000'000U}) {
        if (nodes <= largest) {
            prove(made({.nodes = nodes, .seed = 9, .rivers = 8, .closed_share = 0.01}), 300);
        }
    }
}

TEST_CASE("On the sample and on real maps every answer is Dijkstra's") {
    std::vector<std::filesystem::path> maps{WAYBOURNE_SOURCE_DIR "/maps-sample/roads.osm"};
    if (const auto folder = tests::outside_data()) {
        for (const auto& entry : std::filesystem::directory_iterator{*folder + "/roads"}) {
            if (entry.path().string().ends_with(".osm.pbf")) {
                maps.push_back(entry.path());
            }
        }
    }
    for (const auto& map : maps) {
        const auto import = import_osm(map, tests::speed_table());
        prove(
            bench::bench_network_of(import.network, tests::speed_table(), map.filename().string()),
            500);
    }
}

TEST_CASE("All in all more than a million answers were compared") {
    std::size_t total = 0;
    for (const auto& [kind, count] : counts()) {
        MESSAGE(kind << ": " << count);
        total += count;
    }
    MESSAGE("in all: " << total);
    if (largest >= 1'000'000) {
        CHECK(total > 1'000'000);
    }
}
