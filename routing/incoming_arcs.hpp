#pragma once
/// The arcs that lead to each node, for searches that run against the traffic.

#include <span>
#include <vector>

#include "routing/road_network.hpp"

namespace waybourne::routing {

/// Immutable; share it between threads. 8 bytes per arc and 4 per node; made in O(nodes + arcs).
class IncomingArcs {
public:
    struct Incoming {
        ArcId arc;
        NodeId tail;
    };
    explicit IncomingArcs(const RoadNetwork& network);

    /// In the order of the arcs' numbers.
    std::span<const Incoming> at(NodeId node) const {
        return std::span(arcs_).subspan(first_[node.value],
                                        first_[node.value + 1] - first_[node.value]);
    }

private:
    std::vector<std::uint32_t> first_;
    std::vector<Incoming> arcs_;
};

}  // namespace waybourne::routing
