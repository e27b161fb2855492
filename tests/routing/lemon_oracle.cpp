#include "tests/routing/lemon_oracle.hpp"

#include <lemon/dijkstra.h>
#include <lemon/smart_graph.h>

namespace waybourne::tests {

struct LemonOracle::Graph {
    lemon::SmartDigraph digraph;
    lemon::SmartDigraph::ArcMap<std::uint64_t> weights{digraph};
};

LemonOracle::LemonOracle(std::uint32_t nodes, const std::vector<OracleArc>& arcs)
    : graph_(std::make_unique<Graph>()) {
    graph_->digraph.reserveNode(static_cast<int>(nodes));
    graph_->digraph.reserveArc(static_cast<int>(arcs.size()));
    for (std::uint32_t node = 0; node < nodes; ++node) {
        graph_->digraph.addNode();
    }
    for (const OracleArc& arc : arcs) {
        const auto added =
            graph_->digraph.addArc(lemon::SmartDigraph::nodeFromId(static_cast<int>(arc.tail)),
                                   lemon::SmartDigraph::nodeFromId(static_cast<int>(arc.head)));
        graph_->weights[added] = arc.weight;
    }
}

LemonOracle::~LemonOracle() = default;

std::vector<std::uint32_t> LemonOracle::distances(std::uint32_t source) const {
    lemon::Dijkstra<lemon::SmartDigraph, lemon::SmartDigraph::ArcMap<std::uint64_t>> dijkstra(
        graph_->digraph, graph_->weights);
    dijkstra.run(lemon::SmartDigraph::nodeFromId(static_cast<int>(source)));
    const auto nodes = static_cast<std::size_t>(graph_->digraph.maxNodeId()) + 1;
    std::vector<std::uint32_t> distances(nodes, unreachable);
    for (std::size_t node = 0; node < nodes; ++node) {
        const auto there = lemon::SmartDigraph::nodeFromId(static_cast<int>(node));
        if (dijkstra.reached(there)) {
            distances[node] = static_cast<std::uint32_t>(dijkstra.dist(there));
        }
    }
    return distances;
}

}  // namespace waybourne::tests
