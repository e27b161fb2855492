#include "routing/nearest_places.hpp"

#include <algorithm>
#include <queue>

#include "routing/internal/place_ways.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

std::optional<NearestPlace> to_nearest_place(const PlaceLabel& label) {
    if (!label.is_reached()) {
        return std::nullopt;
    }
    return NearestPlace{
        label.place,
        to_travel_time(label.typical_ds, allow_ds({label.typical_ds, label.variance_ds2}))};
}

NearestPlaces::NearestPlaces(std::shared_ptr<const Metric> metric, std::vector<Snap> places,
                             std::vector<bool> is_capable, std::vector<Snap> settlements)
    : metric_(std::move(metric)),
      incoming_(metric_->network()),
      places_(std::move(places)),
      is_capable_(std::move(is_capable)),
      settlements_(std::move(settlements)),
      labels_(metric_->network().node_count()),
      next_(labels_.size()),
      settlement_labels_(settlements_.size()) {
    if (is_capable_.size() != places_.size()) {
        throw InputError("every place is capable or not: the two lists differ in length");
    }
    for (const auto* snaps : {&places_, &settlements_}) {
        for (const Snap& snap : *snaps) {
            check_snap(metric_->network(), snap);
        }
    }
    find_entries();
    const auto weight_of = [this](ArcId arc) { return metric_->weight(arc); };
    using Item = std::pair<PlaceLabel, NodeId>;
    std::priority_queue<Item, std::vector<Item>, std::greater<>> queue;
    const auto improve = [&](NodeId node, const PlaceLabel& label, ArcId next) {
        if (label < labels_[node.value]) {
            labels_[node.value] = label;
            next_[node.value] = next;
            queue.emplace(label, node);
        }
    };
    for (std::uint32_t place = 0; place < places_.size(); ++place) {
        if (is_capable_[place]) {
            visit_gates(*metric_, places_[place], {0, place, 0}, weight_of,
                        [&](std::uint32_t, NodeId node, const PlaceLabel& label) {
                            improve(node, label, ArcId::none());
                        });
        }
    }
    while (!queue.empty()) {
        const auto [label, node] = queue.top();
        queue.pop();
        if (label != labels_[node.value]) {
            continue;
        }
        for (const auto& [arc, tail] : incoming_.at(node)) {
            improve(tail, extended(label, metric_->weight(arc)), arc);
        }
    }
    const auto label_at = [this](NodeId node) { return labels_[node.value]; };
    for (std::size_t i = 0; i < settlements_.size(); ++i) {
        PlaceLabel best = best_over_nodes(*metric_, settlements_[i], weight_of, label_at);
        for (const Access& access : settlements_[i].accesses) {
            each_on(places_on_, access.piece, [&](std::uint32_t place) {
                if (is_capable_[place]) {
                    best = std::min(best, best_beside(*metric_, access, places_[place],
                                                      {0, place, 0}, weight_of));
                }
            });
        }
        settlement_labels_[i] = best;
    }
}

/// Where places and settlements touch the network, closed or not: a plan may open it.
void NearestPlaces::find_entries() {
    const RoadNetwork& network = metric_->network();
    for (std::uint32_t place = 0; place < places_.size(); ++place) {
        for (const Access& access : places_[place].accesses) {
            each_way_in(network, access, [&](NodeId node, const std::optional<ArcPart>&) {
                gates_.push_back({node, place});
            });
            places_on_.push_back({network.original(access.piece), place});
        }
    }
    std::vector<AtNode> at;
    for (std::uint32_t i = 0; i < settlements_.size(); ++i) {
        for (const Access& access : settlements_[i].accesses) {
            each_way_out(network, access, [&](NodeId node, const std::optional<ArcPart>&) {
                at.push_back({node, i});
            });
            settlements_on_.push_back({network.original(access.piece), i});
        }
    }
    std::sort(gates_.begin(), gates_.end());
    std::sort(places_on_.begin(), places_on_.end());
    std::sort(settlements_on_.begin(), settlements_on_.end());
    std::sort(at.begin(), at.end());
    settlements_at_first_.assign(network.node_count() + 1, 0);
    for (const AtNode& one : at) {
        ++settlements_at_first_[one.node.value + 1];
        settlements_at_.push_back(one.settlement);
    }
    for (std::size_t node = 0; node < network.node_count(); ++node) {
        settlements_at_first_[node + 1] += settlements_at_first_[node];
    }
}

std::optional<NearestPlace> NearestPlaces::of_settlement(std::size_t settlement) const {
    return to_nearest_place(settlement_labels_.at(settlement));
}

std::optional<NearestPlace> NearestPlaces::of_node(NodeId node) const {
    return to_nearest_place(labels_.at(node.value));
}

}  // namespace waybourne::routing
