#include "tests/bench/igraph_yardstick.hpp"

#include <igraph/igraph.h>

#include <cmath>

#include "routing/metric.hpp"

namespace waybourne::bench {

struct IgraphYardstick::Graph {
    igraph_t graph;
    igraph_vector_t ds;
};

IgraphYardstick::IgraphYardstick(const BenchNetwork& network) : graph_(std::make_unique<Graph>()) {
    igraph_vector_int_t arcs;
    igraph_vector_int_init(&arcs, 2 * static_cast<igraph_integer_t>(network.arc_count()));
    igraph_vector_init(&graph_->ds, static_cast<igraph_integer_t>(network.arc_count()));
    for (std::uint32_t node = 0; node < network.node_count(); ++node) {
        for (std::uint32_t a = network.first_out[node]; a < network.first_out[node + 1]; ++a) {
            VECTOR(arcs)[2 * std::size_t{a}] = node;
            VECTOR(arcs)[2 * std::size_t{a} + 1] = network.head[a];
            VECTOR(graph_->ds)
            [a] = network.dry_ds[a] < routing::closed_ds ? network.dry_ds[a] : IGRAPH_INFINITY;
        }
    }
    igraph_create(&graph_->graph, &arcs, network.node_count(), IGRAPH_DIRECTED);
    igraph_vector_int_destroy(&arcs);
}

IgraphYardstick::~IgraphYardstick() {
    igraph_vector_destroy(&graph_->ds);
    igraph_destroy(&graph_->graph);
}

std::uint64_t IgraphYardstick::one_to_all(std::uint32_t source) {
    igraph_matrix_t distances;
    igraph_matrix_init(&distances, 0, 0);
    igraph_distances_dijkstra(&graph_->graph, &distances, igraph_vss_1(source), igraph_vss_all(),
                              &graph_->ds, IGRAPH_OUT);
    std::uint64_t total = 0;
    for (igraph_integer_t node = 0; node < igraph_matrix_ncol(&distances); ++node) {
        const double distance = MATRIX(distances, 0, node);
        if (std::isfinite(distance)) {
            total += static_cast<std::uint64_t>(distance);
        }
    }
    igraph_matrix_destroy(&distances);
    return total;
}

}  // namespace waybourne::bench
