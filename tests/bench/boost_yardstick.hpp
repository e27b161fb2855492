#pragma once
/// Dijkstra's algorithm of Boost.Graph on its compressed sparse row graph: what every speed is
/// compared with, and whose answers the measured ones must equal.

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "tests/bench/bench_network.hpp"

namespace waybourne::bench {

class BoostYardstick {
public:
    /// Over the dry-day times, closed arcs left out.
    explicit BoostYardstick(const BenchNetwork& network);
    ~BoostYardstick();
    BoostYardstick(const BoostYardstick&) = delete;
    BoostYardstick& operator=(const BoostYardstick&) = delete;

    /// `dijkstra_shortest_paths`: from one node to all; `routing::closed_ds` where there is no way.
    /// The result holds until the next call.
    std::span<const std::uint32_t> one_to_all(std::uint32_t source);

    /// `dijkstra_shortest_paths` from several nodes, with the start nearest to each node.
    struct Nearest {
        std::span<const std::uint32_t> ds;
        /// Index into `sources`.
        std::span<const std::uint32_t> source;
    };
    Nearest several_to_all(std::span<const std::uint32_t> sources);

    /// `dijkstra_shortest_paths_no_init`, stopped when `is_done(node, ds)` says so of a settled
    /// node; distances and colours are put back only where the last search went.
    void until(std::uint32_t source,
               const std::function<bool(std::uint32_t, std::uint32_t)>& is_done);

private:
    struct Graph;
    std::unique_ptr<Graph> graph_;
};

}  // namespace waybourne::bench
