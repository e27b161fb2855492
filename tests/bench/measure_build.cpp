#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include "routing/customise.hpp"
#include "routing/node_order.hpp"
#include "routing/snap.hpp"
#include "tests/bench/igraph_yardstick.hpp"
#include "tests/bench/lemon_yardstick.hpp"
#include "tests/bench/router_measures.hpp"

namespace waybourne::bench {

using namespace routing;

Workbench::Workbench(Arguments asked, BenchNetwork made)
    : arguments(std::move(asked)), network(std::move(made)), boost(network) {}

void Workbench::print(Figure figure) const {
    figure.network = network.name;
    constexpr std::uint32_t large = 500'000;
    constexpr std::uint32_t middling = 50'000;
    if (network.node_count() < large && !figure.goal.empty()) {
        const std::map<std::string, std::string> lower{
            {"R1", ">= 8"}, {"R2", ">= 10"}, {"R8", ">= 6"}};
        const auto found = lower.find(figure.name);
        figure.goal = network.node_count() < middling || found == lower.end() ? "" : found->second;
    }
    if (arguments.by_processor_time && figure.what.find("2 threads") != std::string::npos) {
        return;
    }
    if (arguments.wants(figure.name)) {
        bench::print(figure);
    }
}

std::vector<std::uint32_t> Workbench::sources(std::size_t count, unsigned seed) const {
    std::mt19937 random{seed};
    std::vector<std::uint32_t> nodes(count);
    for (std::uint32_t& node : nodes) {
        node = static_cast<std::uint32_t>(random()) % network.node_count();
    }
    return nodes;
}

std::vector<Time> times(std::span<const std::uint32_t> ds) {
    std::vector<Time> values;
    values.reserve(ds.size());
    for (const std::uint32_t one : ds) {
        values.push_back({one});
    }
    return values;
}

std::vector<TimeAndSpread> times_and_spreads(const BenchNetwork& network) {
    const std::vector<std::uint32_t> variance = network.variance_ds2();
    std::vector<TimeAndSpread> values;
    values.reserve(variance.size());
    for (std::size_t arc = 0; arc < variance.size(); ++arc) {
        values.push_back(network.dry_ds[arc] < closed_ds
                             ? TimeAndSpread::of(network.dry_ds[arc], variance[arc])
                             : TimeAndSpread::closed());
    }
    return values;
}

void measure_yardsticks(Workbench& bench) {
    const std::vector<std::uint32_t> sources = bench.sources(runs + 1, 11);
    std::size_t i = 0;
    const auto next = [&] { return sources[i++ % sources.size()]; };
    bench.boost_one_to_all =
        median_seconds(runs, [&] { keep(bench.boost.one_to_all(next()).back()); });
    bench.print({"boost_one_to_all", "Boost CSR, dijkstra_shortest_paths",
                 bench.boost_one_to_all * milliseconds, "ms", "", "", ""});
    LemonYardstick lemon{bench.network.first_out, bench.network.head, bench.network.dry_ds};
    const double by_lemon = median_seconds(runs, [&] { keep(lemon.one_to_all(next())); });
    bench.print({"lemon_one_to_all",
                 "LEMON StaticDigraph",
                 by_lemon * milliseconds,
                 "ms",
                 "Boost one-to-all, times as long",
                 "",
                 "",
                 {},
                 by_lemon / bench.boost_one_to_all});
    IgraphYardstick igraph{bench.network};
    const double by_igraph = median_seconds(runs, [&] { keep(igraph.one_to_all(next())); });
    bench.print({"igraph_one_to_all",
                 "igraph distances_dijkstra",
                 by_igraph * milliseconds,
                 "ms",
                 "Boost one-to-all, times as long",
                 "",
                 "",
                 {},
                 by_igraph / bench.boost_one_to_all});
}

namespace {

std::uint64_t triangles(const HierarchyArrays& h) {
    std::uint64_t count = 0;
    for (std::size_t x = 0; x + 1 < h.up_first.size(); ++x) {
        const std::uint64_t degree = h.up_first[x + 1] - h.up_first[x];
        count += degree * (degree - 1) / 2;
    }
    return count;
}

}  // namespace

void measure_build(Workbench& bench) {
    const GraphView graph = bench.network.view();
    const double nodes = graph.node_count();
    std::vector<std::uint32_t> order;
    const auto begin = std::chrono::steady_clock::now();  // another process does the work
    order = nested_dissection_order(graph, {});
    const double ordering =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    bench.print({"R14", "nested-dissection order, per million nodes", ordering / nodes * 1e6, "s",
                 "", "<= 20", ""});
    bench.hierarchy = std::make_shared<const Hierarchy>(Hierarchy::build(graph, order));
    const double build = median_seconds(graph.node_count() > 2'000'000 ? 1 : runs,
                                        [&] { keep(Hierarchy::build(graph, order).arc_count()); });
    const HierarchyArrays& h = bench.hierarchy->arrays();
    bench.print({"R14", "arcs of the hierarchy per node",
                 static_cast<double>(h.up_head.size()) / nodes, "", "", "<= 4.6", ""});
    bench.print({"R14", "triangles per node", static_cast<double>(triangles(h)) / nodes, "", "",
                 "<= 36", ""});
    bench.print({"height", "height of the elimination tree",
                 static_cast<double>(bench.hierarchy->height()), "nodes", "", "", ""});
    bench.print({"R13",
                 "contraction, given the order",
                 build * milliseconds,
                 "ms",
                 "Boost one-to-all, times as long",
                 "<= 5",
                 "",
                 {},
                 build / bench.boost_one_to_all});
    bench.print({"R15", "hierarchy without weights",
                 static_cast<double>(bench.hierarchy->bytes()) / nodes, "bytes/node", "", "<= 80",
                 ""});
    bench.print({"R15", "one set of times",
                 static_cast<double>(h.up_head.size()) * sizeof(BothWays<Time>) / nodes,
                 "bytes/node", "", "<= 40", ""});
    bench.print({"R15_spread", "one set of times and spreads",
                 static_cast<double>(h.up_head.size()) * sizeof(BothWays<TimeAndSpread>) / nodes,
                 "bytes/node", "", "", ""});
}

void measure_snapping(Workbench& bench) {
    if (!bench.arguments.wants("R17") || bench.network.node_count() > 2'000'000) {
        return;
    }
    const auto roads = std::make_shared<const RoadNetwork>(road_network_of(bench.network));
    const double build = median_seconds(3, [&] {
        const SnapIndex made{roads};
        keep(reinterpret_cast<std::size_t>(&made));
    });
    bench.print({"R17", "index to snap by, per million road pieces",
                 build / roads->piece_count() * 1e6, "s", "", "<= 0.3", ""});
    const SnapIndex index{roads};
    std::vector<GeoPoint> points;
    std::mt19937 random{12};
    for (const std::uint32_t node : bench.sources(2000, 12)) {
        const auto off = [&] { return (static_cast<double>(random() % 2001) - 1000) * 2e-6; };
        points.emplace_back(Latitude{bench.network.latitude[node] + off()},
                            Longitude{std::remainder(bench.network.longitude[node] + off(), 360)});
    }
    const Metric metric{roads, std::vector<std::uint32_t>(roads->arc_count(), 1),
                        std::vector<std::uint32_t>(roads->arc_count(), 0)};
    const auto all = query_seconds(runs, points.size(), [&](std::size_t i) {
        keep(index.snap(points[i], metric).has_value());
    });
    bench.print({"R17", "a point onto the road, 99th percentile",
                 percentile(all, 0.99) * microseconds, "µs", "", "<= 10", ""});
    bench.print({"snap", "a point onto the road", median(all) * microseconds, "µs", "", "", "",
                 percentile(all, 0.99) * microseconds});
}

}  // namespace waybourne::bench
