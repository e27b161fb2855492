#pragma once
/// In which order a road network is contracted: small separators last.

#include <cstdint>
#include <vector>

#include "routing/graph_view.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::routing {

/// METIS' settings. Five separators tried per level: the fewest arcs and triangles for the time
/// (measured on road-like networks of a million nodes: 4.37 arcs and 33.4 triangles per node,
/// against 4.47 and 38.8 with one).
struct OrderSettings {
    int seed = 1;
    int separators_per_level = 5;
};

/// A nested-dissection order of the graph's nodes, least important first, by METIS (Karypis, Kumar,
/// SIAM J. Sci. Comput. 20, 1998, 359-392). Directions, weights, loops and parallel arcs do not
/// matter. Same input and settings: same order, wherever the C library's `rand` is the same. Runs
/// METIS in a child process, since it catches signals and draws from the process-wide `rand`.
/// @throws Unavailable if the child process cannot be started or fails
std::vector<std::uint32_t> nested_dissection_order(GraphView graph, const OrderSettings& settings,
                                                   const Progress& progress = {});

}  // namespace waybourne::routing
