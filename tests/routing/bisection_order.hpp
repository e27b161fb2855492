#pragma once
/// A contraction order made by halving the map, for tests that cannot wait for a good one.

#include <cstdint>
#include <vector>

#include "routing/graph_view.hpp"

namespace waybourne::tests {

/// Nested dissection by coordinates: each part is cut in two at the median of its longer side, and
/// the nodes of one half with a neighbour in the other come last. O(nodes × log² nodes).
std::vector<std::uint32_t> bisection_order(routing::GraphView graph,
                                           const std::vector<double>& latitude,
                                           const std::vector<double>& longitude);

}  // namespace waybourne::tests
