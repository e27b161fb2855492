#pragma once
/// The first and last stretches of ways to places, under weights that may be planned ones.

#include <algorithm>

#include "routing/internal/end_parts.hpp"
#include "routing/internal/label.hpp"
#include "routing/nearest_places.hpp"

namespace waybourne::routing {

/// One more part before a way. Not reached where that is closed or too long to be counted.
inline PlaceLabel extended(const PlaceLabel& label, const Weight& weight) {
    const std::uint32_t typical = label.typical_ds + weight.typical_ds;
    if (typical >= closed_ds) {
        return {};
    }
    return {typical, label.place,
            static_cast<std::uint32_t>(
                std::min(greatest_variance_ds2, label.variance_ds2 + weight.variance_ds2))};
}

inline constexpr Weight closed_weight{closed_ds, 0};

/// What a stub takes; nothing at the end itself. @param weight_of one arc's weight
template <typename WeightOf>
Weight stub_weight(const RoadNetwork& network, const std::optional<ArcPart>& part,
                   const WeightOf& weight_of) {
    if (!part) {
        return {};
    }
    const Weight whole = part->arc.exists() ? weight_of(part->arc) : closed_weight;
    return whole.typical_ds >= closed_ds
               ? closed_weight
               : part_of(whole, network.piece(part->arc).length_cm, part->from_cm, part->to_cm);
}

/// Calls `visit(access number, node, label at the node)` for each open way from a node to a place
/// that has `start` itself.
template <typename WeightOf, typename Visit>
void visit_gates(const Metric& metric, const Snap& place, const PlaceLabel& start,
                 const WeightOf& weight_of, const Visit& visit) {
    const RoadNetwork& network = metric.network();
    for (std::uint32_t number = 0; number < place.accesses.size(); ++number) {
        const Access& access = place.accesses[number];
        const PlaceLabel at_road = extended(start, metric.off_road(access.off_road));
        if (!at_road.is_reached()) {
            continue;
        }
        each_way_in(network, access, [&](NodeId node, const std::optional<ArcPart>& part) {
            const PlaceLabel label = extended(at_road, stub_weight(network, part, weight_of));
            if (label.is_reached()) {
                visit(number, node, label);
            }
        });
    }
}

/// The best way from a place over the nodes. @param label_at one node's
template <typename WeightOf, typename LabelAt>
PlaceLabel best_over_nodes(const Metric& metric, const Snap& from, const WeightOf& weight_of,
                           const LabelAt& label_at) {
    const RoadNetwork& network = metric.network();
    PlaceLabel best;
    for (const Access& access : from.accesses) {
        const Weight walk = metric.off_road(access.off_road);
        each_way_out(network, access, [&](NodeId node, const std::optional<ArcPart>& first) {
            const PlaceLabel label = label_at(node);
            const Weight part = stub_weight(network, first, weight_of);
            if (label.is_reached() && part.typical_ds < closed_ds) {
                const PlaceLabel at_road = extended(label, part);
                best =
                    std::min(best, at_road.is_reached() ? extended(at_road, walk) : PlaceLabel{});
            }
        });
    }
    return best;
}

/// The best way between two places that never leaves their piece, before a way that has `start`.
template <typename WeightOf>
PlaceLabel best_beside(const Metric& metric, const Access& from, const Snap& to,
                       const PlaceLabel& start, const WeightOf& weight_of) {
    const RoadNetwork& network = metric.network();
    PlaceLabel best;
    for (const Access& access : to.accesses) {
        if (network.original(access.piece) != network.original(from.piece)) {
            continue;
        }
        each_version(network, from.piece, [&](PieceId version) {
            std::optional<ArcPart> part;
            if (access.along_cm != from.along_cm) {
                part = part_between(network.piece(version), from.along_cm, access.along_cm);
            }
            PlaceLabel label = start;
            for (const Weight& weight :
                 {metric.off_road(access.off_road), stub_weight(network, part, weight_of),
                  metric.off_road(from.off_road)}) {
                label = label.is_reached() ? extended(label, weight) : label;
            }
            best = std::min(best, label);
        });
    }
    return best;
}

}  // namespace waybourne::routing
