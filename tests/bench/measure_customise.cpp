#include <algorithm>
#include <random>

#include "routing/customise.hpp"
#include "tests/bench/router_measures.hpp"

namespace waybourne::bench {

using namespace routing;

namespace {

/// Seconds for one customisation, input weights included.
template <typename Value>
double customising(const Workbench& bench, const std::vector<Value>& values, unsigned threads) {
    std::vector<BothWays<Value>> weights(bench.hierarchy->arc_count());
    return median_seconds(runs, [&] {
        customise<Value>(*bench.hierarchy, values, weights, threads);
        keep(weights.size());
    });
}

template <std::size_t Lanes>
std::vector<Times<Lanes>> lanes_of(const BenchNetwork& network) {
    const std::array conditions{&network.dry_ds, &network.wet_ds, &network.night_ds};
    std::vector<Times<Lanes>> values(network.arc_count());
    for (std::size_t arc = 0; arc < values.size(); ++arc) {
        for (std::size_t lane = 0; lane < Lanes; ++lane) {
            values[arc].ds[lane] = (*conditions[lane % conditions.size()])[arc];
        }
    }
    return values;
}

/// Closes `count` arcs and opens them again, `runs` times elsewhere each.
void measure_partial(Workbench& bench, std::size_t count, double full, const std::string& goal) {
    std::vector<Time> values = times(bench.network.dry_ds);
    auto weights = customised<Time>(*bench.hierarchy, values);
    const std::vector<std::uint32_t> tail = bench.network.tails();
    std::mt19937 random{static_cast<unsigned>(count)};
    std::vector<double> spent;
    for (int run = 0; run < 3 * runs; ++run) {
        std::vector<std::uint32_t> arcs(count);
        std::vector<UpArc> closed;
        for (std::uint32_t& arc : arcs) {
            arc = static_cast<std::uint32_t>(random()) % bench.network.arc_count();
            values[arc] = Time::closed();
            closed.push_back(bench.hierarchy->up_arc(tail[arc], bench.network.head[arc]));
        }
        spent.push_back(seconds([&] {
            keep(customise_again<Time>(*bench.hierarchy, values, closed, weights).size());
        }));
        for (const std::uint32_t arc : arcs) {
            values[arc] = {bench.network.dry_ds[arc]};
        }
        customise_again<Time>(*bench.hierarchy, values, closed, weights);
    }
    bench.print({"R6",
                 "closing " + std::to_string(count) + " arcs",
                 median(spent) * milliseconds,
                 "ms",
                 "a full customisation, % of it",
                 goal,
                 "",
                 {},
                 median(spent) / full * 100});
}

}  // namespace

void measure_customise(Workbench& bench) {
    const std::vector<Time> dry = times(bench.network.dry_ds);
    const double one = customising<Time>(bench, dry, 1);
    const double two_threads = customising<Time>(bench, dry, 2);
    const std::string against = "Boost one-to-all, times as long";
    bench.print({"R3",
                 "customise one condition",
                 one * milliseconds,
                 "ms",
                 against,
                 "<= 1.4",
                 "",
                 {},
                 one / bench.boost_one_to_all});
    bench.print({"R4",
                 "the same on 2 threads",
                 two_threads * milliseconds,
                 "ms",
                 against,
                 "<= 0.85",
                 "",
                 {},
                 two_threads / bench.boost_one_to_all});
    bench.print({"R4",
                 "2 threads against 1",
                 two_threads * milliseconds,
                 "ms",
                 "1 thread, faster",
                 ">= 1.6",
                 "",
                 {},
                 one / two_threads});
    const double four = customising(bench, lanes_of<4>(bench.network), 1);
    const double eight = customising(bench, lanes_of<8>(bench.network), 1);
    bench.print({"R5",
                 "4 conditions in one pass",
                 four * milliseconds,
                 "ms",
                 "one condition, times as long",
                 "<= 1.6",
                 "",
                 {},
                 four / one});
    bench.print({"R5",
                 "8 conditions in one pass",
                 eight * milliseconds,
                 "ms",
                 "one condition, times as long",
                 "<= 2.3",
                 "",
                 {},
                 eight / one});
    const double spread = customising(bench, times_and_spreads(bench.network), 1);
    bench.print({"R3_spread",
                 "customise one condition, time and spread",
                 spread * milliseconds,
                 "ms",
                 against,
                 "",
                 "",
                 {},
                 spread / bench.boost_one_to_all});
    measure_partial(bench, 1, one, "<= 0.5");
    measure_partial(bench, 10, one, "<= 1");
    measure_partial(bench, 100, one, "<= 8");
}

}  // namespace waybourne::bench
