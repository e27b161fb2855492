#include "routing/internal/goal_search.hpp"

#include <algorithm>
#include <queue>
#include <tuple>

namespace waybourne::routing {

Potential::Potential(const PreparedMetric& metric)
    : metric_(&metric),
      search_(metric.hierarchy()),
      ds_(metric.hierarchy().node_count(), unknown),
      falling_ds_(ds_.size(), closed_ds) {}

void Potential::set_target(const Snap& target, const std::vector<Gate>& gates) {
    for (const std::uint32_t rank : touched_) {
        ds_[rank] = unknown;
        falling_ds_[rank] = closed_ds;
    }
    touched_.clear();
    const HierarchyArrays& h = metric_->hierarchy().arrays();
    const Metric& metric = metric_->metric();
    for (const Gate& gate : gates) {
        std::uint32_t last_ds = metric.off_road(target.accesses[gate.access].off_road).typical_ds;
        if (gate.last) {
            // a ferry is never entered midway, so its part is the whole or a walkable stretch
            last_ds +=
                metric.weight(gate.last->arc, gate.last->from_cm, gate.last->to_cm).typical_ds;
        }
        search_.run(metric_->hierarchy(), metric_->weights(), h.rank_of_node[gate.node.value],
                    TimeAndSpread::of(std::min(last_ds, closed_ds), 0),
                    UpSearch<TimeAndSpread>::Direction::to_here);
        for (const std::uint32_t rank : search_.chain()) {
            const std::uint32_t ds =
                std::min(closed_ds, search_.at_depth(h.depth[rank]).typical_ds());
            falling_ds_[rank] = std::min(falling_ds_[rank], ds);
            touched_.push_back(rank);
        }
    }
}

std::uint32_t Potential::at(NodeId node) {
    const HierarchyArrays& h = metric_->hierarchy().arrays();
    const std::uint32_t rank = h.rank_of_node[node.value];
    pending_.clear();
    for (std::uint32_t x = rank; x != no_rank && ds_[x] == unknown; x = h.parent[x]) {
        pending_.push_back(x);
    }
    for (; !pending_.empty(); pending_.pop_back()) {
        const std::uint32_t x = pending_.back();
        std::uint32_t best = falling_ds_[x];
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
            best = std::min(best, metric_->weights()[a].up.typical_ds() + ds_[h.up_head[a]]);
        }
        ds_[x] = best;
        touched_.push_back(x);
    }
    return ds_[rank];
}

namespace {

/// The best end found so far, and by which gate.
struct Arrival {
    Label label;
    const Gate* gate = nullptr;
};

/// Through all gates at this node. @param through the label behind a gate
template <typename Through>
void arrive(std::span<const Gate> gates, NodeId node, Arrival& best, const Through& through) {
    for (const Gate& gate : gates) {
        if (gate.node != node) {
            continue;
        }
        const Label there = through(gate);
        if (there < best.label) {
            best = {there, &gate};
        }
    }
}

}  // namespace

GoalSearch::GoalSearch(const PreparedMetric& metric)
    : metric_(&metric), potential_(metric), nodes_(metric.metric().network().node_count()) {}

void GoalSearch::reset() {
    for (const NodeId node : touched_) {
        nodes_[node.value] = {};
    }
    touched_.clear();
}

std::optional<GoalSearch::Result> GoalSearch::run(const Departure& departure, const Snap& target,
                                                  const std::vector<bool>& avoided) {
    reset();
    const Metric& metric = metric_->metric();
    const RoadNetwork& network = metric.network();
    const auto leads_round = [&](const std::optional<ArcPart>& part) {
        return !part || !is_avoided(network, avoided, part->arc);
    };
    std::vector<Entry> from = entries(metric, departure);
    std::erase_if(from, [&](const Entry& entry) { return !leads_round(entry.first); });
    std::vector<Gate> to = gates(metric, target);
    std::erase_if(to, [&](const Gate& gate) { return !leads_round(gate.last); });
    potential_.set_target(target, to);

    // by the least time the whole way can take; then as labels are ordered
    using Item = std::tuple<std::uint32_t, Label, NodeId>;
    std::priority_queue<Item, std::vector<Item>, std::greater<>> queue;
    const auto improve = [&](NodeId node, const Label& label, ArcId arc, std::uint32_t entry) {
        NodeState& state = nodes_[node.value];
        const std::uint32_t left = label.is_reached() ? potential_.at(node) : closed_ds;
        if (left >= closed_ds || !(label < state.label)) {
            return;
        }
        touched_.push_back(node);
        state = {label, arc, entry};
        queue.emplace(label.typical_ds + left, label, node);
    };
    for (std::uint32_t i = 0; i < from.size(); ++i) {
        improve(from[i].node, from[i].label, ArcId::none(), i);
    }
    Arrival best;
    while (!queue.empty() && std::get<0>(queue.top()) <= best.label.typical_ds) {
        const Label label = std::get<Label>(queue.top());
        const NodeId node = std::get<NodeId>(queue.top());
        queue.pop();
        const NodeState state = nodes_[node.value];
        if (state.label != label) {
            continue;
        }
        arrive(to, node, best, [&](const Gate& gate) {
            return through(gate, label, metric, target, departure.at);
        });
        for (ArcId arc = network.first_arc(node); arc < network.end_arc(node); ++arc.value) {
            if (metric.is_open(arc) && !is_avoided(network, avoided, arc)) {
                improve(network.head(arc), across(label, metric, arc, departure.at), arc,
                        state.entry);
            }
        }
    }

    const auto short_way = direct(metric, departure, target, avoided);
    if (short_way && short_way->label < best.label) {
        return Result{short_way->label, to_way(*short_way, departure, target)};
    }
    if (best.gate == nullptr) {
        return std::nullopt;
    }
    return Result{best.label, trace(departure, target, from, *best.gate)};
}

Way GoalSearch::trace(const Departure& departure, const Snap& target, std::span<const Entry> from,
                      const Gate& last) const {
    const RoadNetwork& network = metric_->metric().network();
    Way way;
    way.end = target.accesses[last.access];
    if (last.last) {
        way.parts.push_back(*last.last);
    }
    NodeId node = last.node;
    for (ArcId arc = nodes_[node.value].from; arc.exists(); arc = nodes_[node.value].from) {
        way.parts.push_back({arc, 0, network.piece(arc).length_cm});
        node = network.tail(arc);
    }
    const Entry& entry = from[nodes_[node.value].entry];
    if (entry.first) {
        way.parts.push_back(*entry.first);
    }
    way.start = departure.from.accesses[entry.access];
    std::reverse(way.parts.begin(), way.parts.end());
    return way;
}

}  // namespace waybourne::routing
