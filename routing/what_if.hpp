#pragma once
/// What would change for whom if a place or a road were added, improved or lost.

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "routing/nearest_places.hpp"

namespace waybourne::routing {

/// A piece of road as it would be, with all its copies; none where it would be closed in that
/// direction. What the network does not allow stays closed.
struct ChangedRoad {
    PieceId piece;
    std::optional<Weight> forward;
    std::optional<Weight> backward;
};

/// A road that the network lacks, between two places on it; none where nobody could go that way.
struct NewRoad {
    Snap from;
    Snap to;
    std::optional<Weight> there;
    std::optional<Weight> back;
};

/// All of it at once.
struct PlannedChange {
    /// Numbered on from the places that are there.
    std::vector<Snap> new_places{};
    /// Numbers of places that would become capable, or stop being so.
    std::vector<std::uint32_t> gained{};
    std::vector<std::uint32_t> lost{};
    std::vector<ChangedRoad> changed_roads{};
    std::vector<NewRoad> new_roads{};
};

/// One settlement whose nearest place, or the time to it, would be another.
struct SettlementChange {
    std::size_t settlement = 0;
    std::optional<NearestPlace> before;
    std::optional<NearestPlace> after;
    bool operator==(const SettlementChange&) const = default;
};

/// Answers one planned change after the other, each against the same base, as a full recomputation
/// would. A dynamic shortest-way search in the sense of Ramalingam and Reps, J. Algorithms 21
/// (1996) 267-305: what rested on something lost is taken back and found anew from its border; what
/// improves is followed against the traffic only as far as it improves. A search workspace: one per
/// thread, 16 bytes per node. O(nodes whose way changes × log).
class WhatIf {
public:
    explicit WhatIf(std::shared_ptr<const NearestPlaces> base);

    /// The settlements that change, in order. Lives until the next question.
    /// @throws InputError for a place, piece or snap that does not exist
    std::span<const SettlementChange> evaluate(const PlannedChange& change);

    /// Nodes that the last question had to look into.
    std::size_t visited_nodes() const { return touched_.size(); }

private:
    /// Where ways may end: a place, or an end of a new road with what lies beyond it.
    struct Source {
        const Snap* snap;
        PlaceLabel start;
    };
    struct Item {
        PlaceLabel label;
        NodeId node;
        bool operator>(const Item& other) const { return label > other.label; }
    };
    struct NewWeight {
        ArcId arc;
        Weight weight;
    };

    void begin(const PlannedChange& change);
    void check(const PlannedChange& change) const;
    void set_weights(const PlannedChange& change);
    void take_back(const PlannedChange& change);
    void take_back(NodeId node);
    void take_back_what_follows();
    void find_anew();
    void seed_changed_roads(const PlannedChange& change);
    void seed(const Source& source);
    void seed_place(std::uint32_t place);
    void build_roads(const PlannedChange& change);
    bool extend_road(const Snap& from, const Snap& to, const std::optional<Weight>& weight);
    void improve(NodeId node, const PlaceLabel& label);
    void run();
    void collect();
    void look_at_settlements_on(const Snap& snap);
    void look_at_settlements_on(PieceId version);
    void look_at(std::uint32_t settlement);

    PlaceLabel label_at(NodeId node) const;
    PlaceLabel label_at(const Snap& snap) const;
    Weight weight(ArcId arc) const;
    bool counts(std::uint32_t place) const;

    std::shared_ptr<const NearestPlaces> base_;
    std::vector<PlaceLabel> labels_;
    std::vector<std::uint32_t> round_of_node_;
    std::vector<std::uint32_t> round_of_settlement_;
    std::uint32_t round_ = 0;
    std::vector<NodeId> touched_;
    std::vector<NodeId> taken_back_;
    std::vector<Item> queue_;
    std::vector<NewWeight> weights_;
    std::vector<std::uint32_t> lost_;
    std::vector<Source> sources_;
    std::vector<std::uint32_t> settlements_;
    std::vector<SettlementChange> changes_;
};

}  // namespace waybourne::routing
