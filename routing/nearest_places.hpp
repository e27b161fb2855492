#pragma once
/// Every settlement's nearest place: what a planner starts from.

#include <algorithm>
#include <compare>
#include <memory>
#include <optional>
#include <vector>

#include "routing/incoming_arcs.hpp"
#include "routing/metric.hpp"
#include "routing/snap.hpp"

namespace waybourne::routing {

/// The place with the least typical time, of equally near ones the lower number, and the time of
/// the way to it.
struct NearestPlace {
    std::uint32_t place = 0;
    TravelTime travel_time;
    bool operator==(const NearestPlace&) const = default;
};

/// What is known of the way to the nearest place. Ordered: nearer, then the lower number, then the
/// lesser spread. Tenths of a second and their squares.
struct PlaceLabel {
    std::uint32_t typical_ds = closed_ds;
    std::uint32_t place = 0;
    std::uint32_t variance_ds2 = 0;
    auto operator<=>(const PlaceLabel&) const = default;
    bool is_reached() const { return typical_ds < closed_ds; }
};

/// The nearest capable place of every node and every settlement. Immutable; share it between
/// threads. 16 bytes per node. Made by one Dijkstra search from all places against the traffic.
///
/// No departure is known here, so nobody waits: a ferry or a road with a timetable counts its way
/// alone. Give a metric of which that is not true, or close such pieces (`Metric::without`), where
/// the waits matter.
class NearestPlaces {
public:
    /// @param is_capable one per place: only these count
    /// @throws InputError if a snap is not of the metric's network or the sizes differ
    NearestPlaces(std::shared_ptr<const Metric> metric, std::vector<Snap> places,
                  std::vector<bool> is_capable, std::vector<Snap> settlements);

    const Metric& metric() const { return *metric_; }
    const IncomingArcs& incoming() const { return incoming_; }
    const std::vector<Snap>& places() const { return places_; }
    const std::vector<bool>& is_capable() const { return is_capable_; }
    const std::vector<Snap>& settlements() const { return settlements_; }

    /// None where no capable place can be reached.
    std::optional<NearestPlace> of_settlement(std::size_t settlement) const;
    std::optional<NearestPlace> of_node(NodeId node) const;

private:
    friend class WhatIf;

    /// A place that is entered from a node.
    struct PlaceGate {
        NodeId node;
        std::uint32_t place = 0;
        auto operator<=>(const PlaceGate&) const = default;
    };
    /// The piece is never a copy.
    struct OnPiece {
        PieceId piece;
        std::uint32_t index = 0;
        auto operator<=>(const OnPiece&) const = default;
    };
    /// Calls `visit(index)` for those on the piece or on another version of it.
    template <typename Visit>
    void each_on(const std::vector<OnPiece>& all, PieceId version, const Visit& visit) const {
        const PieceId piece = metric_->network().original(version);
        auto on = std::lower_bound(all.begin(), all.end(), OnPiece{piece, 0});
        for (; on != all.end() && on->piece == piece; ++on) {
            visit(on->index);
        }
    }
    struct AtNode {
        NodeId node;
        std::uint32_t settlement = 0;
        auto operator<=>(const AtNode&) const = default;
    };
    void find_entries();

    std::shared_ptr<const Metric> metric_;
    IncomingArcs incoming_;
    std::vector<Snap> places_;
    std::vector<bool> is_capable_;
    std::vector<Snap> settlements_;
    /// By node; and the arc that the best way takes first: none where the place is beside the node.
    std::vector<PlaceLabel> labels_;
    std::vector<ArcId> next_;
    std::vector<PlaceLabel> settlement_labels_;
    /// Sorted: by node, by piece.
    std::vector<PlaceGate> gates_;
    std::vector<OnPiece> places_on_;
    std::vector<OnPiece> settlements_on_;
    std::vector<std::uint32_t> settlements_at_first_;
    std::vector<std::uint32_t> settlements_at_;
};

std::optional<NearestPlace> to_nearest_place(const PlaceLabel& label);

}  // namespace waybourne::routing
