#include "tests/bench/lemon_yardstick.hpp"

#include <lemon/dijkstra.h>
#include <lemon/static_graph.h>

#include <utility>

namespace waybourne::bench {

struct LemonYardstick::Graph {
    lemon::StaticDigraph digraph;
    std::unique_ptr<lemon::StaticDigraph::ArcMap<std::uint32_t>> ds;
    std::unique_ptr<
        lemon::Dijkstra<lemon::StaticDigraph, lemon::StaticDigraph::ArcMap<std::uint32_t>>>
        dijkstra;
};

LemonYardstick::LemonYardstick(const std::vector<std::uint32_t>& first_out,
                               const std::vector<std::uint32_t>& head,
                               const std::vector<std::uint32_t>& ds)
    : graph_(std::make_unique<Graph>()) {
    std::vector<std::pair<int, int>> arcs;
    for (std::size_t node = 0; node + 1 < first_out.size(); ++node) {
        for (std::uint32_t a = first_out[node]; a < first_out[node + 1]; ++a) {
            arcs.emplace_back(static_cast<int>(node), static_cast<int>(head[a]));
        }
    }
    graph_->digraph.build(static_cast<int>(first_out.size() - 1), arcs.begin(), arcs.end());
    graph_->ds = std::make_unique<lemon::StaticDigraph::ArcMap<std::uint32_t>>(graph_->digraph);
    for (std::size_t a = 0; a < ds.size(); ++a) {
        (*graph_->ds)[lemon::StaticDigraph::arcFromId(static_cast<int>(a))] = ds[a];
    }
    graph_->dijkstra = std::make_unique<
        lemon::Dijkstra<lemon::StaticDigraph, lemon::StaticDigraph::ArcMap<std::uint32_t>>>(
        graph_->digraph, *graph_->ds);
}

LemonYardstick::~LemonYardstick() = default;

std::uint64_t LemonYardstick::one_to_all(std::uint32_t source) {
    graph_->dijkstra->run(lemon::StaticDigraph::nodeFromId(static_cast<int>(source)));
    std::uint64_t total = 0;
    for (int node = 0; node < graph_->digraph.nodeNum(); ++node) {
        const auto there = lemon::StaticDigraph::nodeFromId(node);
        if (graph_->dijkstra->reached(there)) {
            total += graph_->dijkstra->dist(there);
        }
    }
    return total;
}

}  // namespace waybourne::bench
