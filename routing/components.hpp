#pragma once
/// Which parts of a network can be reached from each other.

#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "routing/road_network.hpp"

namespace waybourne::routing {

/// The strongly connected components, largest first (by nodes, then by lowest node number).
struct Components {
    /// One per node.
    std::vector<ComponentId> of_node;
    /// Nodes in each component.
    std::vector<std::uint32_t> sizes;
};

/// Over the arcs that `is_usable` takes. A node and its copies count as one, so turn restrictions
/// are not looked at: they make a part harder to leave, hardly ever impossible.
/// Tarjan, SIAM J. Computing 1 (1972) 146-160. O(nodes +
/// arcs).
Components strong_components(const RoadNetwork& network,
                             const std::function<bool(ArcId)>& is_usable);

/// A part of the network outside the largest component, for the import report.
struct LeftOut {
    ComponentId component;
    std::uint32_t nodes = 0;
    /// Of the pieces with at least one end in it.
    Metres length;
    /// A node of it, to look at on a map.
    NodeId example;
};

/// Junctions and directions on the ground: copies are not counted.
struct ComponentReport {
    std::uint32_t nodes = 0;
    std::uint32_t nodes_in_largest = 0;
    std::uint32_t arcs = 0;
    std::uint32_t arcs_in_largest = 0;
    Metres length;
    Metres length_in_largest;
    /// Largest first; at most as many as asked for.
    std::vector<LeftOut> left_out;
    std::uint32_t left_out_count = 0;
};

ComponentReport report_components(const RoadNetwork& network, std::size_t at_most);

}  // namespace waybourne::routing
