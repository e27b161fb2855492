#pragma once
/// The parts of router_bench. Each measures one kind of work and prints its figures.

#include <memory>
#include <span>
#include <vector>

#include "routing/arc_value.hpp"
#include "routing/hierarchy.hpp"
#include "tests/bench/bench_network.hpp"
#include "tests/bench/boost_yardstick.hpp"
#include "tests/bench/figure.hpp"

namespace waybourne::bench {

/// What the parts share.
struct Workbench {
    Workbench(Arguments asked, BenchNetwork made);

    Arguments arguments;
    BenchNetwork network;
    BoostYardstick boost;
    /// Median of a one-to-all by Boost, in seconds: what most goals are counted in.
    double boost_one_to_all = 0;
    std::shared_ptr<const routing::Hierarchy> hierarchy;

    /// The goals are about a million nodes; from 50,000 on, those that real networks of that size
    /// can meet, which are lower for R1, R2 and R8; none below.
    void print(Figure figure) const;
    std::uint32_t rank(std::uint32_t node) const { return hierarchy->arrays().rank_of_node[node]; }
    /// Nodes to start from, always the same.
    std::vector<std::uint32_t> sources(std::size_t count, unsigned seed) const;
};

constexpr int runs = 7;
constexpr double milliseconds = 1e3;
constexpr double microseconds = 1e6;

std::vector<routing::Time> times(std::span<const std::uint32_t> ds);
std::vector<routing::TimeAndSpread> times_and_spreads(const BenchNetwork& network);

/// The yardsticks themselves: Boost, LEMON, igraph.
void measure_yardsticks(Workbench& bench);
/// Order, contraction, sizes. Fills in the hierarchy.
void measure_build(Workbench& bench);
/// All weights anew, and a few.
void measure_customise(Workbench& bench);
/// Nearest places, one to one, unpacking; by time alone and by time and spread.
void measure_queries(Workbench& bench);
/// One to all, all to the nearest, several at once.
void measure_sweeps(Workbench& bench);
/// Tables of travel times, and what a new place would change.
void measure_planning(Workbench& bench);
/// Points onto roads.
void measure_snapping(Workbench& bench);

}  // namespace waybourne::bench
