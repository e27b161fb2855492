#pragma once
/// What every benchmark program shares: its arguments, how it times, and how it prints a figure.

#include <chrono>
#include <cstddef>
#include <string>
#include <vector>

namespace waybourne::bench {

/// One measured figure, in the form that `script/bench` collects.
struct Figure {
    std::string name;
    std::string what;
    double value = 0;
    std::string unit;
    std::string against;
    std::string goal;
    std::string network;
};

struct Arguments {
    std::size_t size = 100'000;
    std::vector<std::string> only;
    bool wants(const std::string& name) const;
};

/// Reads `--size N` and `--only NAME,…`; anything else ends the program with exit code 2.
Arguments parse_arguments(int count, char** values);

/// One line of JSON on standard output.
void print(const Figure& figure);

double median(std::vector<double> values);
/// @param share e.g. 0.99; the value that this share of the values does not exceed
double percentile(std::vector<double> values, double share);

/// Seconds that `work` takes, once.
template <typename Work>
double seconds(const Work& work) {
    const auto begin = std::chrono::steady_clock::now();
    work();
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
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

/// Keeps the compiler from leaving out work whose result nobody reads.
void keep(std::size_t value);

}  // namespace waybourne::bench
