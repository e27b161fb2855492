#include <algorithm>

#include "routing/buckets.hpp"
#include "routing/customise.hpp"
#include "routing/unpacker.hpp"
#include "tests/bench/router_measures.hpp"

namespace waybourne::bench {

using namespace routing;

namespace {

constexpr std::size_t boost_queries = 60;
constexpr std::size_t boost_pairs = 15;
constexpr std::size_t query_count = 1000;

/// Seconds that Boost takes to find the `count` nearest capable places, stopping then.
double boost_nearest(Workbench& bench, const std::vector<std::uint32_t>& sources,
                     std::size_t count) {
    std::vector<std::uint8_t> capable_at(bench.network.node_count());
    for (const auto& place : bench.network.places) {
        capable_at[place.node] =
            static_cast<std::uint8_t>(capable_at[place.node] + (place.is_capable ? 1 : 0));
    }
    const auto all = query_seconds(3, boost_queries, [&](std::size_t i) {
        std::size_t found = 0;
        bench.boost.until(sources[i], [&](std::uint32_t node, std::uint32_t) {
            return (found += capable_at[node]) >= count;
        });
        keep(found);
    });
    return median(all);
}

double boost_pair(Workbench& bench, const std::vector<std::uint32_t>& sources,
                  const std::vector<std::uint32_t>& targets) {
    const auto all = query_seconds(1, boost_pairs, [&](std::size_t i) {
        bench.boost.until(sources[i],
                          [&](std::uint32_t node, std::uint32_t) { return node == targets[i]; });
    });
    return median(all);
}

/// What Boost needs for the same questions.
struct Yardstick {
    double nearest_one = 0;
    double nearest_three = 0;
    double pair = 0;
};

template <typename Value>
class Queries {
public:
    Queries(Workbench& bench, const std::vector<Value>& values, std::string suffix, std::string by)
        : bench_(bench),
          values_(values),
          weights_(customised<Value>(*bench.hierarchy, values)),
          middles_(weights_.size()),
          suffix_(std::move(suffix)),
          by_(std::move(by)),
          sources_(bench.sources(query_count, 13)),
          targets_(bench.sources(query_count, 14)) {}

    void measure_nearest(const Yardstick& boost) {
        Buckets<Value> buckets{*bench_.hierarchy};
        const double build = median_seconds(runs, [&] { buckets = filled(); });
        bench_.print(
            {"buckets" + suffix_, "keep 500 places" + by_, build * milliseconds, "ms", "", "", ""});
        bench_.print({"entries" + suffix_, "entries per place" + by_,
                      static_cast<double>(buckets.entry_count()) /
                          static_cast<double>(bench_.network.places.size()),
                      "", "", "", ""});
        const double one = nearest(buckets, "R1", 1, boost.nearest_one, ">= 60");
        nearest(buckets, "R2", 3, boost.nearest_three, ">= 100");
        keep(static_cast<std::size_t>(one));
    }

    void measure_pairs(const Yardstick& boost) {
        UpSearch<Value> from{*bench_.hierarchy};
        UpSearch<Value> to{*bench_.hierarchy};
        const std::span<const BothWays<Value>> weights{weights_};
        const auto meeting = [&](std::size_t i) {
            return meet_between<Value>(*bench_.hierarchy, weights, bench_.rank(sources_[i]),
                                       bench_.rank(targets_[i]), from, to);
        };
        const auto distances =
            query_seconds(runs, query_count, [&](std::size_t i) { keep(meeting(i).rank); });
        bench_.print({"R11" + suffix_, "one to one, time only asked" + by_,
                      median(distances) * microseconds, "µs", "Boost early stop, faster", ">= 500",
                      "", percentile(distances, 0.99) * microseconds,
                      boost.pair / median(distances)});
        Unpacker unpacker;
        std::vector<std::uint32_t> arcs;
        const auto tell = [&](std::size_t i) {
            const auto met = meeting(i);
            unpacker.run(Weighted<Value>{*bench_.hierarchy, values_, weights, middles_}, from, to,
                         met, arcs);
            keep(arcs.size());
        };
        std::vector<double> first_times;
        for (std::size_t i = 0; i < query_count; ++i) {
            first_times.push_back(seconds([&] { tell(i); }));
        }
        bench_.print({"unpack_first" + suffix_, "time and way, asked for the first time" + by_,
                      median(first_times) * microseconds, "µs", "the distance, times as long", "",
                      "", percentile(first_times, 0.99) * microseconds,
                      median(first_times) / median(distances)});
        const auto both = query_seconds(runs, query_count, tell);
        const double unpacking = median(both) - median(distances);
        bench_.print({"R11" + suffix_,
                      "unpacking the way" + by_,
                      unpacking * microseconds,
                      "µs",
                      "the distance, times as long",
                      "<= 3",
                      "",
                      {},
                      unpacking / median(distances)});
    }

private:
    Buckets<Value> filled() const {
        Buckets<Value> buckets{*bench_.hierarchy};
        for (std::uint32_t place = 0; place < bench_.network.places.size(); ++place) {
            buckets.add(*bench_.hierarchy, std::span<const BothWays<Value>>(weights_),
                        bench_.rank(bench_.network.places[place].node), place, Value::none());
        }
        return buckets;
    }

    double nearest(const Buckets<Value>& buckets, const std::string& name, std::size_t count,
                   double boost, const std::string& goal) {
        UpSearch<Value> search{*bench_.hierarchy};
        std::vector<typename Buckets<Value>::Found> found;
        found.reserve(count + 1);
        const auto accept = [&](std::uint32_t place) {
            return bench_.network.places[place].is_capable;
        };
        const auto all = query_seconds(runs, query_count, [&](std::size_t i) {
            found.clear();
            NearestSearch<Value>{*bench_.hierarchy, weights_, buckets, search}.find(
                bench_.rank(sources_[i]), Value::none(), count, accept, found);
            keep(found.size());
        });
        const std::string what = "nearest capable place, k = " + std::to_string(count) + by_;
        const double typical = median(all);
        bench_.print({name + suffix_, what, typical * microseconds, "µs",
                      "Boost early stop, reset lazily, faster", goal, "",
                      percentile(all, 0.99) * microseconds, boost / typical});
        if (count == 1) {
            bench_.print({"R16" + suffix_,
                          what + ", 99th percentile",
                          percentile(all, 0.99) * microseconds,
                          "µs",
                          "its median, times as long",
                          "<= 5",
                          "",
                          {},
                          percentile(all, 0.99) / typical});
        }
        return typical;
    }

    Workbench& bench_;
    const std::vector<Value>& values_;
    std::vector<BothWays<Value>> weights_;
    MiddleNotes middles_;
    std::string suffix_;
    std::string by_;
    std::vector<std::uint32_t> sources_;
    std::vector<std::uint32_t> targets_;
};

}  // namespace

void measure_queries(Workbench& bench) {
    const auto sources = bench.sources(query_count, 13);
    const Yardstick boost{boost_nearest(bench, sources, 1), boost_nearest(bench, sources, 3),
                          boost_pair(bench, sources, bench.sources(query_count, 14))};
    bench.print({"boost_nearest", "Boost early stop, nearest capable place",
                 boost.nearest_one * microseconds, "µs", "", "", ""});
    bench.print({"boost_nearest_3", "Boost early stop, three nearest capable places",
                 boost.nearest_three * microseconds, "µs", "", "", ""});
    bench.print({"boost_pair", "Boost early stop, one to one", boost.pair * milliseconds, "ms", "",
                 "", ""});
    const auto dry = times(bench.network.dry_ds);
    Queries<Time> by_time{bench, dry, "", ""};
    by_time.measure_nearest(boost);
    by_time.measure_pairs(boost);
    const auto both = times_and_spreads(bench.network);
    Queries<TimeAndSpread> by_both{bench, both, "_spread", ", with spread"};
    by_both.measure_nearest(boost);
    by_both.measure_pairs(boost);
}

}  // namespace waybourne::bench
