#pragma once
/// Networks made up for tests and benchmarks: of any size, road-like, and as nasty as asked for.

#include <cstdint>
#include <vector>

#include "routing/graph_view.hpp"

namespace waybourne::tests {

/// How a network is made. The defaults are road-like: planar, mean degree about 2.6, dead ends,
/// fast roads between towns, rivers with few bridges, some one-way streets.
struct MadeNetworkSettings {
    std::uint32_t nodes = 1000;
    std::uint64_t seed = 1;
    std::uint32_t rivers = 2;
    double one_way_share = 0.05;
    /// Pieces without neighbours on the far side of everything: a component of its own.
    std::uint32_t islands = 0;
    double zero_length_share = 0;
    /// Arcs of nearly the greatest weight that can be added once without wrapping.
    double huge_share = 0;
    double closed_share = 0;
    double parallel_share = 0;
    double loop_share = 0;
};

/// Arcs sorted by tail, then head. Times in ds; `routing::closed_ds` where closed. Coordinates in
/// degrees, near 0°, 0°.
struct MadeNetwork {
    std::vector<std::uint32_t> first_out;
    std::vector<std::uint32_t> head;
    std::vector<std::uint32_t> dry_ds;
    std::vector<std::uint32_t> wet_ds;
    std::vector<std::uint32_t> night_ds;
    std::vector<std::uint32_t> variance_ds2;
    std::vector<double> latitude;
    std::vector<double> longitude;

    routing::GraphView view() const { return {first_out, head}; }
    std::uint32_t node_count() const { return static_cast<std::uint32_t>(latitude.size()); }
};

/// A grid of jittered nodes whose streets are thinned out away from the towns, with faster roads
/// every few lines. Same settings, same network, on every machine: own random numbers (splitmix64,
/// Steele, Lea, Flood, OOPSLA 2014), integers wherever rounding could differ. O(nodes log nodes).
MadeNetwork make_network(const MadeNetworkSettings& settings);

}  // namespace waybourne::tests
