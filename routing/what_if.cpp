#include "routing/what_if.hpp"

#include <algorithm>

#include "routing/internal/place_ways.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

WhatIf::WhatIf(std::shared_ptr<const NearestPlaces> base)
    : base_(std::move(base)),
      labels_(base_->labels_.size()),
      round_of_node_(labels_.size(), 0),
      round_of_settlement_(base_->settlements().size(), 0) {}

std::span<const SettlementChange> WhatIf::evaluate(const PlannedChange& change) {
    check(change);
    begin(change);
    take_back(change);
    find_anew();
    seed_changed_roads(change);
    for (const Source& source : sources_) {
        seed(source);
    }
    run();
    build_roads(change);
    collect();
    return changes_;
}

void WhatIf::check(const PlannedChange& change) const {
    const RoadNetwork& network = base_->metric().network();
    for (const Snap& place : change.new_places) {
        check_snap(network, place);
    }
    for (const NewRoad& road : change.new_roads) {
        check_snap(network, road.from);
        check_snap(network, road.to);
    }
    for (const auto* numbers : {&change.gained, &change.lost}) {
        for (const std::uint32_t place : *numbers) {
            if (place >= base_->places().size()) {
                throw InputError("there is no place number " + std::to_string(place));
            }
        }
    }
    for (const ChangedRoad& road : change.changed_roads) {
        if (road.piece.value >= network.piece_count()) {
            throw InputError("there is no road piece number " + std::to_string(road.piece.value));
        }
    }
}

void WhatIf::begin(const PlannedChange& change) {
    ++round_;
    touched_.clear();
    taken_back_.clear();
    queue_.clear();
    sources_.clear();
    settlements_.clear();
    changes_.clear();
    lost_ = change.lost;
    set_weights(change);
    for (const std::uint32_t place : change.gained) {
        if (!base_->is_capable()[place]) {
            sources_.push_back({&base_->places()[place], {0, place, 0}});
        }
    }
    auto number = static_cast<std::uint32_t>(base_->places().size());
    for (const Snap& place : change.new_places) {
        sources_.push_back({&place, {0, number++, 0}});
    }
}

void WhatIf::set_weights(const PlannedChange& change) {
    weights_.clear();
    const RoadNetwork& network = base_->metric().network();
    for (const ChangedRoad& road : change.changed_roads) {
        each_version(network, road.piece, [&](PieceId version) {
            const Piece& piece = network.piece(version);
            if (piece.forward.exists()) {
                weights_.push_back({piece.forward, road.forward.value_or(closed_weight)});
            }
            if (piece.backward.exists()) {
                weights_.push_back({piece.backward, road.backward.value_or(closed_weight)});
            }
        });
    }
    // of a piece named twice the last word counts
    std::stable_sort(weights_.begin(), weights_.end(),
                     [](const NewWeight& a, const NewWeight& b) { return a.arc < b.arc; });
    std::size_t kept = 0;
    for (std::size_t i = 0; i < weights_.size(); ++i) {
        if (i + 1 == weights_.size() || weights_[i].arc != weights_[i + 1].arc) {
            weights_[kept++] = weights_[i];
        }
    }
    weights_.resize(kept);
}

Weight WhatIf::weight(ArcId arc) const {
    if (!weights_.empty()) {
        const auto changed =
            std::lower_bound(weights_.begin(), weights_.end(), arc,
                             [](const NewWeight& one, ArcId wanted) { return one.arc < wanted; });
        if (changed != weights_.end() && changed->arc == arc) {
            return changed->weight;
        }
    }
    return base_->metric().weight(arc);
}

bool WhatIf::counts(std::uint32_t place) const {
    return base_->is_capable()[place] &&
           std::find(lost_.begin(), lost_.end(), place) == lost_.end();
}

PlaceLabel WhatIf::label_at(NodeId node) const {
    return round_of_node_[node.value] == round_ ? labels_[node.value] : base_->labels_[node.value];
}

/// Takes back the nodes whose way rests on something lost or slower, and all that follow them.
void WhatIf::take_back(const PlannedChange& change) {
    const RoadNetwork& network = base_->metric().network();
    const auto take_back_at = [&](std::uint32_t place) {
        for (const Access& access : base_->places()[place].accesses) {
            each_way_in(network, access, [&](NodeId node, const std::optional<ArcPart>&) {
                const PlaceLabel& label = base_->labels_[node.value];
                if (label.is_reached() && label.place == place &&
                    !base_->next_[node.value].exists()) {
                    take_back(node);
                }
            });
        }
    };
    for (const std::uint32_t place : lost_) {
        take_back_at(place);
        look_at_settlements_on(base_->places()[place]);
    }
    for (const NewWeight& changed : weights_) {
        const NodeId tail = network.tail(changed.arc);
        if (base_->next_[tail.value] == changed.arc &&
            changed.weight > base_->metric().weight(changed.arc)) {
            take_back(tail);
        }
    }
    for (const ChangedRoad& road : change.changed_roads) {
        base_->each_on(base_->places_on_, road.piece, take_back_at);
        look_at_settlements_on(road.piece);
    }
    take_back_what_follows();
}

void WhatIf::take_back(NodeId node) {
    if (round_of_node_[node.value] != round_) {
        round_of_node_[node.value] = round_;
        labels_[node.value] = {};
        touched_.push_back(node);
        taken_back_.push_back(node);
    }
}

void WhatIf::take_back_what_follows() {
    // the list grows while it is read
    std::size_t next = 0;
    while (next < taken_back_.size()) {
        for (const auto& [arc, tail] : base_->incoming().at(taken_back_[next++])) {
            if (base_->next_[tail.value] == arc) {
                take_back(tail);
            }
        }
    }
}

/// The nodes that were taken back start from their neighbours that were not, and from places.
void WhatIf::find_anew() {
    const RoadNetwork& network = base_->metric().network();
    for (const NodeId node : taken_back_) {
        for (ArcId arc = network.first_arc(node); arc < network.end_arc(node); ++arc.value) {
            const PlaceLabel label = label_at(network.head(arc));
            if (label.is_reached()) {
                improve(node, extended(label, weight(arc)));
            }
        }
        auto gate = std::lower_bound(
            base_->gates_.begin(), base_->gates_.end(), node,
            [](const NearestPlaces::PlaceGate& one, NodeId wanted) { return one.node < wanted; });
        for (; gate != base_->gates_.end() && gate->node == node; ++gate) {
            seed_place(gate->place);
        }
    }
}

void WhatIf::seed_changed_roads(const PlannedChange& change) {
    const RoadNetwork& network = base_->metric().network();
    for (const NewWeight& changed : weights_) {
        const PlaceLabel label = label_at(network.head(changed.arc));
        if (label.is_reached()) {
            improve(network.tail(changed.arc), extended(label, changed.weight));
        }
    }
    for (const ChangedRoad& road : change.changed_roads) {
        base_->each_on(base_->places_on_, road.piece,
                       [this](std::uint32_t place) { seed_place(place); });
    }
}

void WhatIf::seed_place(std::uint32_t place) {
    if (counts(place)) {
        visit_gates(
            base_->metric(), base_->places()[place], {0, place, 0},
            [this](ArcId arc) { return weight(arc); },
            [&](std::uint32_t, NodeId node, const PlaceLabel& label) { improve(node, label); });
    }
}

void WhatIf::seed(const Source& source) {
    visit_gates(
        base_->metric(), *source.snap, source.start, [this](ArcId arc) { return weight(arc); },
        [&](std::uint32_t, NodeId node, const PlaceLabel& label) { improve(node, label); });
    look_at_settlements_on(*source.snap);
}

void WhatIf::improve(NodeId node, const PlaceLabel& label) {
    if (!(label < label_at(node))) {
        return;
    }
    if (round_of_node_[node.value] != round_) {
        round_of_node_[node.value] = round_;
        touched_.push_back(node);
    }
    labels_[node.value] = label;
    queue_.push_back({label, node});
    std::push_heap(queue_.begin(), queue_.end(), std::greater<>{});
}

void WhatIf::run() {
    while (!queue_.empty()) {
        std::pop_heap(queue_.begin(), queue_.end(), std::greater<>{});
        const Item item = queue_.back();
        queue_.pop_back();
        if (item.label != label_at(item.node)) {
            continue;
        }
        for (const auto& [arc, tail] : base_->incoming().at(item.node)) {
            improve(tail, extended(item.label, weight(arc)));
        }
    }
}

/// Each new road makes of its one end a place as near as its other end and the road together.
void WhatIf::build_roads(const PlannedChange& change) {
    bool is_better = !change.new_roads.empty();
    while (is_better) {
        is_better = false;
        for (const NewRoad& road : change.new_roads) {
            is_better = extend_road(road.from, road.to, road.there) || is_better;
            is_better = extend_road(road.to, road.from, road.back) || is_better;
        }
    }
}

bool WhatIf::extend_road(const Snap& from, const Snap& to, const std::optional<Weight>& weight) {
    if (!weight) {
        return false;
    }
    const PlaceLabel beyond = label_at(to);
    const PlaceLabel start = beyond.is_reached() ? extended(beyond, *weight) : beyond;
    if (!(start < label_at(from))) {
        return false;
    }
    sources_.push_back({&from, start});
    seed(sources_.back());
    run();
    return true;
}

PlaceLabel WhatIf::label_at(const Snap& snap) const {
    const auto weight_of = [this](ArcId arc) { return weight(arc); };
    const Metric& metric = base_->metric();
    PlaceLabel best =
        best_over_nodes(metric, snap, weight_of, [this](NodeId node) { return label_at(node); });
    for (const Access& access : snap.accesses) {
        base_->each_on(base_->places_on_, access.piece, [&](std::uint32_t place) {
            if (counts(place)) {
                best = std::min(best, best_beside(metric, access, base_->places()[place],
                                                  {0, place, 0}, weight_of));
            }
        });
        for (const Source& source : sources_) {
            best =
                std::min(best, best_beside(metric, access, *source.snap, source.start, weight_of));
        }
    }
    return best;
}

void WhatIf::look_at(std::uint32_t settlement) {
    if (round_of_settlement_[settlement] != round_) {
        round_of_settlement_[settlement] = round_;
        settlements_.push_back(settlement);
    }
}

void WhatIf::look_at_settlements_on(const Snap& snap) {
    for (const Access& access : snap.accesses) {
        look_at_settlements_on(access.piece);
    }
}

void WhatIf::look_at_settlements_on(PieceId version) {
    base_->each_on(base_->settlements_on_, version,
                   [this](std::uint32_t settlement) { look_at(settlement); });
}

void WhatIf::collect() {
    const auto& first = base_->settlements_at_first_;
    for (const NodeId node : touched_) {
        for (std::uint32_t i = first[node.value]; i < first[node.value + 1]; ++i) {
            look_at(base_->settlements_at_[i]);
        }
    }
    std::sort(settlements_.begin(), settlements_.end());
    for (const std::uint32_t settlement : settlements_) {
        const PlaceLabel& before = base_->settlement_labels_[settlement];
        const PlaceLabel after = label_at(base_->settlements()[settlement]);
        if (after == before) {
            continue;
        }
        const SettlementChange one{settlement, to_nearest_place(before), to_nearest_place(after)};
        if (one.before != one.after) {
            changes_.push_back(one);
        }
    }
}

}  // namespace waybourne::routing
