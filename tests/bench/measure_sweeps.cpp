#include <algorithm>
#include <array>
#include <numeric>

#include "routing/customise.hpp"
#include "routing/sweep.hpp"
#include "tests/bench/router_measures.hpp"

namespace waybourne::bench {

using namespace routing;

namespace {

/// Seconds to read what a sweep reads, in order, and nothing else.
double plain_read(const SweepArcs& arcs, std::span<const std::uint32_t> ds) {
    return median_seconds(runs, [&] {
        std::uint64_t total = 0;
        for (const SweepArcs::Arc& arc : arcs.down()) {
            total += arc.head ^ arc.ds;
        }
        total = std::accumulate(ds.begin(), ds.end(), total);
        keep(total);
    });
}

void measure_one_to_all(Workbench& bench, const SweepArcs& arcs) {
    std::vector<std::uint32_t> ds(bench.network.node_count());
    const auto sources = bench.sources(64, 15);
    std::size_t i = 0;
    const auto sweep = [&](unsigned threads) {
        const std::array start{SweepStart{bench.rank(sources[i++ % sources.size()]), 0, 0}};
        sweep_from(*bench.hierarchy, arcs, start, ds, threads);
        keep(ds.back());
    };
    const double plain = plain_read(arcs, ds);
    const double one = median_seconds(3 * runs, [&] { sweep(1); });
    const double two = median_seconds(3 * runs, [&] { sweep(2); });
    const std::string boost = "Boost one-to-all, faster";
    bench.print(
        {"plain_read", "reading the same bytes in order", plain * milliseconds, "ms", "", "", ""});
    bench.print({"R7",
                 "one to all",
                 one * milliseconds,
                 "ms",
                 boost,
                 ">= 20",
                 "",
                 {},
                 bench.boost_one_to_all / one});
    bench.print({"R7",
                 "one to all",
                 one * milliseconds,
                 "ms",
                 "a plain read, times as long",
                 "<= 2.5",
                 "",
                 {},
                 one / plain});
    bench.print({"R7",
                 "one to all, 2 threads",
                 two * milliseconds,
                 "ms",
                 boost,
                 ">= 35",
                 "",
                 {},
                 bench.boost_one_to_all / two});
}

void measure_lanes(Workbench& bench, const SweepArcs& arcs) {
    std::vector<std::uint32_t> ds(bench.network.node_count() * sweep_lanes);
    const auto sources = bench.sources(sweep_lanes, 16);
    std::vector<SweepStart> starts;
    for (const std::uint32_t source : sources) {
        starts.push_back({bench.rank(source), 0, 0});
    }
    for (const unsigned threads : {1U, 2U}) {
        const double spent =
            median_seconds(runs,
                           [&] {
                               sweep_lanes_from(*bench.hierarchy, arcs, starts, ds, threads);
                               keep(ds.back());
                           }) /
            sweep_lanes;
        bench.print(
            {threads == 1 ? "R9" : "lanes_2_threads",
             "16 sources in one pass, each" + std::string(threads == 1 ? "" : ", 2 threads"),
             spent * milliseconds,
             "ms",
             "Boost one-to-all, faster",
             threads == 1 ? ">= 80" : "",
             "",
             {},
             bench.boost_one_to_all / spent});
    }
}

void measure_all_to_nearest(Workbench& bench, const SweepArcs& arcs) {
    BoostYardstick turned{turned_round(bench.network).network};
    std::vector<std::uint32_t> nodes;
    std::vector<SweepStart> places;
    for (std::uint32_t place = 0; place < bench.network.places.size(); ++place) {
        if (bench.network.places[place].is_capable) {
            nodes.push_back(bench.network.places[place].node);
            places.push_back({bench.rank(nodes.back()), 0, place});
        }
    }
    const double boost =
        median_seconds(runs, [&] { keep(turned.several_to_all(nodes).ds.back()); });
    bench.print({"boost_all_to_nearest", "Boost from all capable places at once",
                 boost * milliseconds, "ms", "", "", ""});
    std::vector<std::uint64_t> keys(bench.network.node_count());
    for (const unsigned threads : {1U, 2U}) {
        const double spent = median_seconds(2 * runs, [&] {
            sweep_to_nearest(*bench.hierarchy, arcs, places, keys, threads);
            keep(keys.back());
        });
        bench.print({"R8",
                     "everywhere to the nearest capable place" +
                         std::string(threads == 1 ? "" : ", 2 threads"),
                     spent * milliseconds,
                     "ms",
                     "Boost from all at once, faster",
                     threads == 1 ? ">= 20" : ">= 25",
                     "",
                     {},
                     boost / spent});
    }
}

}  // namespace

void measure_sweeps(Workbench& bench) {
    const auto weights = customised<Time>(*bench.hierarchy, times(bench.network.dry_ds));
    const SweepArcs arcs{*bench.hierarchy, weights};
    measure_one_to_all(bench, arcs);
    measure_lanes(bench, arcs);
    measure_all_to_nearest(bench, arcs);
}

}  // namespace waybourne::bench
