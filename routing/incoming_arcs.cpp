#include "routing/incoming_arcs.hpp"

namespace waybourne::routing {

IncomingArcs::IncomingArcs(const RoadNetwork& network)
    : first_(network.node_count() + 1, 0), arcs_(network.arc_count()) {
    for (std::uint32_t arc = 0; arc < network.arc_count(); ++arc) {
        ++first_[network.head({arc}).value + 1];
    }
    for (std::uint32_t node = 0; node < network.node_count(); ++node) {
        first_[node + 1] += first_[node];
    }
    std::vector<std::uint32_t> next(first_.begin(), first_.end() - 1);
    for (NodeId tail{0}; tail.value < network.node_count(); ++tail.value) {
        for (ArcId arc = network.first_arc(tail); arc < network.end_arc(tail); ++arc.value) {
            arcs_[next[network.head(arc).value]++] = {arc, tail};
        }
    }
}

}  // namespace waybourne::routing
