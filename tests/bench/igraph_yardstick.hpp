#pragma once
/// Dijkstra's algorithm of the igraph C library.

#include <cstdint>
#include <memory>

#include "tests/bench/bench_network.hpp"

namespace waybourne::bench {

class IgraphYardstick {
public:
    /// Over the dry-day times; closed arcs as closed.
    explicit IgraphYardstick(const BenchNetwork& network);
    ~IgraphYardstick();
    IgraphYardstick(const IgraphYardstick&) = delete;
    IgraphYardstick& operator=(const IgraphYardstick&) = delete;

    /// From one node to all.
    /// @return the sum of all distances, wrapping
    std::uint64_t one_to_all(std::uint32_t source);

private:
    struct Graph;
    std::unique_ptr<Graph> graph_;
};

}  // namespace waybourne::bench
