#include "routing/internal/reference_search.hpp"

#include <algorithm>
#include <utility>

#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

using Graph = ReferenceGraph::Graph;

std::vector<std::pair<std::uint32_t, std::uint32_t>> arcs_of(const RoadNetwork& network) {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> arcs;
    arcs.reserve(network.arc_count());
    for (std::uint32_t node = 0; node < network.node_count(); ++node) {
        const ArcId end = network.end_arc({node});
        for (ArcId arc = network.first_arc({node}); arc < end; ++arc.value) {
            arcs.emplace_back(node, network.head(arc).value);
        }
    }
    return arcs;
}

}  // namespace

ReferenceGraph::ReferenceGraph(const RoadNetwork& network) {
    const auto arcs = arcs_of(network);
    graph_ = Graph(boost::edges_are_sorted, arcs.begin(), arcs.end(), network.node_count());
}

/// Boost's property maps, each over one member of the node states.
struct ReferenceSearch::LabelMap {
    using key_type = std::uint32_t;
    using value_type = Label;
    using reference = const Label&;
    using category = boost::readable_property_map_tag;
    const NodeState* nodes;
    friend const Label& get(const LabelMap& map, std::uint32_t node) {
        return map.nodes[node].label;
    }
};

struct ReferenceSearch::HeapPlaceMap {
    using key_type = std::uint32_t;
    using value_type = std::size_t;
    using reference = std::size_t;
    using category = boost::read_write_property_map_tag;
    NodeState* nodes;
    friend std::size_t get(const HeapPlaceMap& map, std::uint32_t node) {
        return map.nodes[node].heap_place;
    }
    friend void put(const HeapPlaceMap& map, std::uint32_t node, std::size_t place) {
        map.nodes[node].heap_place = static_cast<std::uint32_t>(place);
    }
};

struct ReferenceSearch::ColorMap {
    using key_type = std::uint32_t;
    using value_type = boost::default_color_type;
    using reference = boost::default_color_type;
    using category = boost::read_write_property_map_tag;
    NodeState* nodes;
    friend boost::default_color_type get(const ColorMap& map, std::uint32_t node) {
        return map.nodes[node].color;
    }
    friend void put(const ColorMap& map, std::uint32_t node, boost::default_color_type color) {
        map.nodes[node].color = color;
    }
};

/// Boost's heap, which calls itself empty as soon as the search may end.
struct ReferenceSearch::Heap {
    boost::d_ary_heap_indirect<std::uint32_t, 4, HeapPlaceMap, LabelMap, std::less<>> heap;
    const NodeState* nodes;
    std::uint32_t limit_ds;
    const IsDone& is_done;

    bool empty() const {
        if (heap.empty()) {
            return true;
        }
        // A node that only closed arcs lead to waits in the heap unreached.
        const Label& next = nodes[heap.top()].label;
        return !next.is_reached() || next.typical_ds > limit_ds || is_done(next.typical_ds);
    }
    std::uint32_t top() const { return heap.top(); }
    void pop() { heap.pop(); }
    void push(std::uint32_t node) { heap.push(node); }
    void update(std::uint32_t node) { heap.update(node); }
};

/// Relaxes arcs as Boost's own Dijkstra visitor does, with labels for distances.
class ReferenceSearch::Visitor : public boost::bfs_visitor<> {
public:
    Visitor(ReferenceSearch& search, Heap& heap, const Improved& improved)
        : search_(&search), heap_(&heap), improved_(&improved) {}

    void examine_vertex(std::uint32_t node, const Graph& /*graph*/) const {
        search_->pass_gates({node}, *improved_);
    }
    void tree_edge(Graph::edge_descriptor edge, const Graph& graph) const {
        search_->touch({target(edge, graph)});
        relax(edge, graph);
    }
    void gray_target(Graph::edge_descriptor edge, const Graph& graph) const {
        if (relax(edge, graph)) {
            heap_->update(target(edge, graph));
        }
    }

private:
    bool relax(Graph::edge_descriptor edge, const Graph& graph) const {
        const ArcId arc{get(boost::edge_index, graph, edge)};
        const Label& tail = search_->nodes_[source(edge, graph)].label;
        NodeState& head = search_->nodes_[target(edge, graph)];
        const Metric& metric = *search_->metric_;
        const Label label = metric.waits(arc) ? across(tail, metric, arc, search_->at_)
                                              : extended(tail, metric.weight(arc));
        if (!(label < head.label)) {
            return false;
        }
        head.label = label;
        head.from = arc;
        return true;
    }

    ReferenceSearch* search_;
    Heap* heap_;
    const Improved* improved_;
};

ReferenceSearch::ReferenceSearch(std::shared_ptr<const Metric> metric,
                                 std::shared_ptr<const ReferenceGraph> graph)
    : metric_(std::move(metric)),
      graph_(std::move(graph)),
      nodes_(metric_->network().node_count()) {}

void ReferenceSearch::run(const Departure& departure, std::span<const Snap> targets,
                          std::uint32_t limit_ds, const Improved& improved, const IsDone& is_done) {
    const RoadNetwork& network = metric_->network();
    check_snap(network, departure.from);
    std::for_each(targets.begin(), targets.end(),
                  [&](const Snap& snap) { check_snap(network, snap); });
    reset();
    at_ = departure.at;
    targets_ = targets;
    arrivals_.assign(targets.size(), {});
    add_gates(targets);
    for (const Entry& entry : entries(*metric_, departure)) {
        enter(entry);
    }
    try_direct(departure, targets, improved);
    Heap heap{
        {LabelMap{nodes_.data()}, HeapPlaceMap{nodes_.data()}}, nodes_.data(), limit_ds, is_done};
    boost::breadth_first_visit(graph_->graph(), sources_.begin(), sources_.end(), heap,
                               Visitor(*this, heap, improved), ColorMap{nodes_.data()});
    targets_ = {};
}

void ReferenceSearch::reset() {
    for (const NodeId node : touched_) {
        nodes_[node.value] = {};
    }
    touched_.clear();
    gates_.clear();
    entries_.clear();
    sources_.clear();
}

ReferenceSearch::NodeState& ReferenceSearch::touch(NodeId node) {
    touched_.push_back(node);
    return nodes_[node.value];
}

void ReferenceSearch::add_gates(std::span<const Snap> targets) {
    for (std::uint32_t target = 0; target < targets.size(); ++target) {
        for (const Gate& gate : gates(*metric_, targets[target])) {
            NodeState& state = touch(gate.node);
            const std::uint32_t next = state.first_gate;
            state.first_gate = static_cast<std::uint32_t>(gates_.size());
            gates_.push_back({gate, target, next});
        }
    }
}

void ReferenceSearch::enter(const Entry& entry) {
    NodeState& state = touch(entry.node);
    if (!(entry.label < state.label)) {
        return;
    }
    const auto known = std::find_if(entries_.begin(), entries_.end(),
                                    [&](const Entry& other) { return other.node == entry.node; });
    if (known == entries_.end()) {
        entries_.push_back(entry);
        sources_.push_back(entry.node.value);
    } else {
        *known = entry;
    }
    state.label = entry.label;
}

void ReferenceSearch::try_direct(const Departure& departure, std::span<const Snap> targets,
                                 const Improved& improved) {
    for (std::uint32_t target = 0; target < targets.size(); ++target) {
        if (const auto way = direct(*metric_, departure, targets[target])) {
            arrive(target,
                   {way->label, way->target_access, NodeId::none(), way->part, way->start_access},
                   improved);
        }
    }
}

void ReferenceSearch::pass_gates(NodeId node, const Improved& improved) {
    const NodeState& state = nodes_[node.value];
    for (std::uint32_t number = state.first_gate; number != nothing; number = gates_[number].next) {
        const auto& [gate, target, next] = gates_[number];
        const Label label = through(gate, state.label, *metric_, targets_[target], at_);
        arrive(target, {label, gate.access, node, gate.last, 0}, improved);
    }
}

void ReferenceSearch::arrive(std::size_t target, const Arrival& arrival, const Improved& improved) {
    if (arrival.label.is_reached() && arrival.label < arrivals_[target].label) {
        arrivals_[target] = arrival;
        improved(target, arrival.label);
    }
}

Way ReferenceSearch::way(const Departure& departure, std::span<const Snap> targets,
                         std::size_t target) const {
    const Arrival& arrival = arrivals_[target];
    const RoadNetwork& network = metric_->network();
    Way way;
    way.end = targets[target].accesses[arrival.access];
    if (arrival.last) {
        way.parts.push_back(*arrival.last);
    }
    std::uint32_t start = arrival.entry_access;
    if (arrival.node.exists()) {
        NodeId node = arrival.node;
        for (ArcId arc = nodes_[node.value].from; arc.exists(); arc = nodes_[node.value].from) {
            way.parts.push_back({arc, 0, network.piece(arc).length_cm});
            node = network.tail(arc);
        }
        const auto entry = std::find_if(entries_.begin(), entries_.end(),
                                        [&](const Entry& other) { return other.node == node; });
        start = entry->access;
        if (entry->first) {
            way.parts.push_back(*entry->first);
        }
    }
    way.start = departure.from.accesses[start];
    std::reverse(way.parts.begin(), way.parts.end());
    return way;
}

}  // namespace waybourne::routing
