#include "dispatch/internal/flow.hpp"

#include <lemon/list_graph.h>
#include <lemon/network_simplex.h>

#include <stdexcept>

namespace waybourne::dispatch {

std::vector<std::size_t> cheapest_arcs(std::size_t women, std::size_t vehicles,
                                       const std::vector<FlowArc>& arcs) {
    lemon::ListDigraph graph;
    std::vector<lemon::ListDigraph::Node> nodes;
    for (std::size_t index = 0; index < women + vehicles; ++index) {
        nodes.push_back(graph.addNode());
    }
    const lemon::ListDigraph::Node end = graph.addNode();
    lemon::ListDigraph::ArcMap<std::int64_t> cost(graph, 0);
    std::vector<lemon::ListDigraph::Arc> made;
    for (const FlowArc& arc : arcs) {
        const bool has_vehicle = arc.vehicle < vehicles;
        made.push_back(
            graph.addArc(nodes[arc.woman], has_vehicle ? nodes[women + arc.vehicle] : end));
        cost[made.back()] = arc.cost;
    }
    for (std::size_t vehicle = 0; vehicle < vehicles; ++vehicle) {
        graph.addArc(nodes[women + vehicle], end);
    }
    // Made after the arcs: those added later would get none.
    const lemon::ListDigraph::ArcMap<std::int64_t> capacity(graph, 1);
    lemon::ListDigraph::NodeMap<std::int64_t> supply(graph, 0);
    for (std::size_t woman = 0; woman < women; ++woman) {
        supply[nodes[woman]] = 1;
    }
    supply[end] = -static_cast<std::int64_t>(women);
    lemon::NetworkSimplex<lemon::ListDigraph, std::int64_t, std::int64_t> simplex(graph);
    simplex.upperMap(capacity).costMap(cost).supplyMap(supply);
    if (simplex.run() != decltype(simplex)::OPTIMAL) {
        throw std::logic_error("a woman has no option without a vehicle");
    }
    std::vector<std::size_t> chosen(women, arcs.size());
    for (std::size_t index = 0; index < arcs.size(); ++index) {
        if (simplex.flow(made[index]) > 0) {
            chosen[arcs[index].woman] = index;
        }
    }
    return chosen;
}

}  // namespace waybourne::dispatch
