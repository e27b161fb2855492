#pragma once
/// The network as Boost.Graph sees it.

#include <boost/graph/compressed_sparse_row_graph.hpp>
#include <cstdint>
#include <vector>

#include "routing/reference_router.hpp"

namespace waybourne::routing {

class ReferenceGraph {
public:
    using Graph =
        boost::compressed_sparse_row_graph<boost::directedS, boost::no_property, boost::no_property,
                                           boost::no_property, std::uint32_t, std::uint32_t>;

    explicit ReferenceGraph(const RoadNetwork& network);

    /// Vertices and edges have the numbers of the network's nodes and arcs.
    const Graph& graph() const { return graph_; }

private:
    Graph graph_;
};

}  // namespace waybourne::routing
