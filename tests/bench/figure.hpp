#pragma once
/// What every benchmark program shares: its arguments, how it times, and how it prints a figure.

#include <chrono>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace waybourne::bench {

/// One measured figure, in the form that `script/bench` collects.
struct Figure {
    std::string name;
    std::string what;
    double value = 0;
    std::string unit;
    /// What it was compared with in the same process.
    std::string against;
    /// `>= N`, `<= N` or `< N`, of the ratio if there is one and otherwise of the value; may be
    /// empty.
    std::string goal;
    std::string network;
    /// The 99th percentile, in the unit of the value.
    std::optional<double> p99 = std::nullopt;
    /// Beside `against`: how many times faster, or which share, as the goal reads.
    std::optional<double> ratio = std::nullopt;
};

/// Whether the figure meets its goal; none without a goal.
std::optional<bool> is_met(const Figure& figure);

struct Arguments {
    std::size_t size = 100'000;
    std::vector<std::string> only;
    /// A network file to measure on instead of a generated network.
    std::string network;
    /// Count the time that this thread computed, not that of the clock on the wall: for a machine
    /// that others use too. What runs on two threads is left out then.
    bool by_processor_time = false;
    bool wants(const std::string& name) const;
};

/// Reads `--size N`, `--only NAME,…`, `--network FILE` and `--clock wall|processor`; anything else
/// ends the program with exit code 2.
Arguments parse_arguments(int count, char** values);

/// One line of JSON on standard output.
void print(const Figure& figure);

double median(std::vector<double> values);
/// @param share e.g. 0.99; the value that this share of the values does not exceed
double percentile(std::vector<double> values, double share);

/// Seconds on the clock that the arguments chose.
double clock_seconds();

/// Seconds that `work` takes, once.
template <typename Work>
double seconds(const Work& work) {
    const double begin = clock_seconds();
    work();
    return clock_seconds() - begin;
}

/// The median of several runs, after one that does not count.
template <typename Work>
double median_seconds(int runs, const Work& work) {
    work();
    std::vector<double> times;
    for (int i = 0; i < runs; ++i) {
        times.push_back(seconds(work));
    }
    return median(times);
}

/// The seconds of `count` different queries: each the median of `runs` rounds over all of them, so
/// that a query never finds its own traces in the cache and a disturbance counts for one round
/// only.
template <typename Query>
std::vector<double> query_seconds(int runs, std::size_t count, const Query& query) {
    std::vector<std::vector<double>> times(count);
    for (int run = -1; run < runs; ++run) {
        for (std::size_t i = 0; i < count; ++i) {
            const double time = seconds([&] { query(i); });
            if (run >= 0) {
                times[i].push_back(time);
            }
        }
    }
    std::vector<double> medians;
    for (const std::vector<double>& one : times) {
        medians.push_back(median(one));
    }
    return medians;
}

/// Keeps the compiler from leaving out work whose result nobody reads.
void keep(std::size_t value);

}  // namespace waybourne::bench
