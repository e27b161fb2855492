#include <algorithm>

#include "routing/customise.hpp"
#include "routing/hierarchy_router.hpp"
#include "routing/nearest_places.hpp"
#include "routing/prepared_metric.hpp"
#include "routing/sweep.hpp"
#include "routing/travel_table.hpp"
#include "routing/what_if.hpp"
#include "tests/bench/router_measures.hpp"

namespace waybourne::bench {

using namespace routing;

namespace {

void measure_table(Workbench& bench, const std::shared_ptr<const Metric>& metric,
                   const std::vector<Snap>& snaps, const std::vector<Snap>& places) {
    const auto ready = std::make_shared<const PreparedMetric>(metric, bench.hierarchy);
    const PlaceIndex index{ready, places};
    HierarchyRouter router{ready};
    std::vector<Departure> departures;
    for (const std::uint32_t node : bench.sources(1000, 17)) {
        departures.push_back({snaps[node], Instant{}});
    }
    const double spent = median_seconds(runs, [&] {
        keep(travel_table(router, departures, index, Seconds{1'000'000'000}).rows());
    });
    bench.print({"R10",
                 "table of 1000 departures to " + std::to_string(places.size()) + " places",
                 spent * milliseconds,
                 "ms",
                 "Boost one-to-all, times as long",
                 "<= 0.8",
                 "",
                 {},
                 spent / bench.boost_one_to_all});
}

void measure_what_if(Workbench& bench, const std::shared_ptr<const Metric>& metric,
                     const std::vector<Snap>& snaps, const std::vector<Snap>& places) {
    const auto weights = customised<Time>(*bench.hierarchy, times(bench.network.dry_ds));
    const SweepArcs arcs{*bench.hierarchy, weights};
    std::vector<SweepStart> starts;
    std::vector<bool> is_capable;
    for (std::uint32_t place = 0; place < bench.network.places.size(); ++place) {
        is_capable.push_back(bench.network.places[place].is_capable);
        if (is_capable.back()) {
            starts.push_back({bench.rank(bench.network.places[place].node), 0, place});
        }
    }
    std::vector<std::uint64_t> keys(bench.network.node_count());
    const double sweep = median_seconds(runs, [&] {
        sweep_to_nearest(*bench.hierarchy, arcs, starts, keys);
        keep(keys.back());
    });
    std::vector<Snap> settlements;
    for (const std::uint32_t node : bench.sources(bench.network.node_count() / 20, 18)) {
        settlements.push_back(snaps[node]);
    }
    WhatIf what_if{
        std::make_shared<const NearestPlaces>(metric, places, is_capable, std::move(settlements))};
    const auto candidates = bench.sources(200, 19);
    const auto all = query_seconds(3, candidates.size(), [&](std::size_t i) {
        keep(what_if.evaluate({.new_places = {snaps[candidates[i]]}}).size());
    });
    bench.print({"R12", "what one more place would change", median(all) * milliseconds, "ms",
                 "a sweep from everywhere to the nearest, % of it", "<= 10", "",
                 percentile(all, 0.99) * milliseconds, median(all) / sweep * 100});
}

}  // namespace

void measure_planning(Workbench& bench) {
    if ((!bench.arguments.wants("R10") && !bench.arguments.wants("R12")) ||
        bench.network.node_count() > 2'000'000) {
        return;
    }
    const auto roads = std::make_shared<const RoadNetwork>(road_network_of(bench.network));
    const GraphView graph = view_of(*roads);
    if (!std::ranges::equal(graph.first_out, bench.network.first_out) ||
        !std::ranges::equal(graph.head, bench.network.head)) {
        return;  // parallel arcs or loops: numbered otherwise
    }
    const auto metric =
        std::make_shared<const Metric>(roads, bench.network.dry_ds, bench.network.variance_ds2());
    const std::vector<Snap> snaps = snaps_at_nodes(*roads);
    std::vector<Snap> places;
    for (const BenchNetwork::Place& place : bench.network.places) {
        places.push_back(snaps[place.node]);
    }
    measure_table(bench, metric, snaps, places);
    measure_what_if(bench, metric, snaps, places);
}

}  // namespace waybourne::bench
