#include "routing/components.hpp"

#include <algorithm>
#include <boost/graph/compressed_sparse_row_graph.hpp>
#include <boost/graph/strong_components.hpp>
#include <map>
#include <numeric>
#include <utility>

namespace waybourne::routing {

namespace {

using Graph =
    boost::compressed_sparse_row_graph<boost::directedS, boost::no_property, boost::no_property,
                                       boost::no_property, std::uint32_t, std::uint32_t>;

Graph usable_graph(const RoadNetwork& network, const std::function<bool(ArcId)>& is_usable) {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> arcs;
    for (std::uint32_t node = 0; node < network.node_count(); ++node) {
        const ArcId end = network.end_arc({node});
        for (ArcId arc = network.first_arc({node}); arc < end; ++arc.value) {
            if (is_usable(arc)) {
                arcs.emplace_back(network.original(NodeId{node}).value,
                                  network.original(network.head(arc)).value);
            }
        }
    }
    if (!network.arrays().node_copies.empty()) {
        std::sort(arcs.begin(), arcs.end());
    }
    return {boost::edges_are_sorted, arcs.begin(), arcs.end(), network.node_count()};
}

double metres(const Piece& piece) {
    return piece.length_cm / 100.0;
}

/// In how many directions somebody may use the stretch, counted once for all its copies.
std::uint32_t directions(const RoadNetwork& network, PieceId original) {
    bool forward = network.piece(original).forward.exists();
    bool backward = network.piece(original).backward.exists();
    for (const PieceCopy& pair : network.copies(original)) {
        forward |= network.piece(pair.copy).forward.exists();
        backward |= network.piece(pair.copy).backward.exists();
    }
    return (forward ? 1U : 0U) + (backward ? 1U : 0U);
}

}  // namespace

Components strong_components(const RoadNetwork& network,
                             const std::function<bool(ArcId)>& is_usable) {
    const std::uint32_t nodes = network.node_count();
    const Graph graph = usable_graph(network, is_usable);
    std::vector<std::uint32_t> raw(nodes);
    const std::uint32_t count =
        nodes == 0 ? 0
                   : static_cast<std::uint32_t>(boost::strong_components(
                         graph, boost::make_iterator_property_map(
                                    raw.begin(), get(boost::vertex_index, graph))));
    std::vector<bool> is_copy(nodes);
    for (const NodeCopy& pair : network.arrays().node_copies) {
        raw[pair.copy.value] = raw[pair.original.value];
        is_copy[pair.copy.value] = true;
    }

    // Numbered anew: largest first, then by the lowest node, so that the answer does not hang on
    // the order of the search.
    std::vector<std::uint32_t> sizes(count);
    std::vector<std::uint32_t> lowest(count, nodes);
    for (std::uint32_t node = 0; node < nodes; ++node) {
        sizes[raw[node]] += is_copy[node] ? 0U : 1U;
        lowest[raw[node]] = std::min(lowest[raw[node]], node);
    }
    std::vector<std::uint32_t> order(count);
    std::iota(order.begin(), order.end(), 0U);
    std::sort(order.begin(), order.end(), [&](std::uint32_t a, std::uint32_t b) {
        return sizes[a] != sizes[b] ? sizes[a] > sizes[b] : lowest[a] < lowest[b];
    });
    std::vector<std::uint32_t> rank(count);
    Components components;
    for (std::uint32_t place = 0; place < count; ++place) {
        rank[order[place]] = place;
        // A copy alone in the graph was a component there: it comes last, and is none.
        if (sizes[order[place]] > 0) {
            components.sizes.push_back(sizes[order[place]]);
        }
    }
    components.of_node.reserve(nodes);
    for (const std::uint32_t component : raw) {
        components.of_node.push_back({rank[component]});
    }
    return components;
}

ComponentReport report_components(const RoadNetwork& network, std::size_t at_most) {
    ComponentReport report;
    const auto is_in_largest = [&](NodeId node) { return network.component(node).value == 0; };
    std::map<std::uint32_t, LeftOut> others;
    for (std::uint32_t number = 0; number < network.node_count(); ++number) {
        const NodeId node{number};
        if (network.original(node) != node) {
            continue;
        }
        ++report.nodes;
        if (is_in_largest(node)) {
            ++report.nodes_in_largest;
            continue;
        }
        LeftOut& other = others[network.component(node).value];
        if (other.nodes == 0) {
            other.component = network.component(node);
            other.example = node;
        }
        ++other.nodes;
    }
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const PieceId id{number};
        if (network.original(id) != id) {
            continue;
        }
        const Piece& piece = network.piece(id);
        const std::uint32_t arcs = directions(network, id);
        report.arcs += arcs;
        const bool is_inside = is_in_largest(piece.from) && is_in_largest(piece.to);
        report.length += Metres{metres(piece)};
        if (is_inside) {
            report.length_in_largest += Metres{metres(piece)};
            report.arcs_in_largest += arcs;
            continue;
        }
        const ComponentId from = network.component(piece.from);
        const ComponentId to = network.component(piece.to);
        if (from.value != 0) {
            others[from.value].length += Metres{metres(piece)};
        }
        if (to.value != 0 && to != from) {
            others[to.value].length += Metres{metres(piece)};
        }
    }
    report.left_out_count = static_cast<std::uint32_t>(others.size());
    for (auto other = others.begin(); other != others.end() && report.left_out.size() < at_most;
         ++other) {
        report.left_out.push_back(other->second);
    }
    return report;
}

}  // namespace waybourne::routing
