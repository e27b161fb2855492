#pragma once
/// One departure's climbs in the hierarchy, and what they find.

#include <memory>
#include <vector>

#include "routing/internal/goal_search.hpp"
#include "routing/internal/kept_climbs.hpp"
#include "routing/internal/kept_places.hpp"
#include "routing/internal/lane_climb.hpp"
#include "routing/up_search.hpp"

namespace waybourne::routing {

class HierarchySearch {
public:
    explicit HierarchySearch(const PreparedMetric& metric);

    /// Everything below asks from this departure, which must outlive the asking.
    /// @throws InputError if the snap is not of this network
    void start(const Departure& departure);

    struct Found {
        Label label;
        /// Filled only when asked for.
        Way way;
    };
    /// The best way to one target; not reached where there is none.
    /// @throws InputError if the target is not of this network
    Found find(const Snap& target, bool with_way);

    /// The best way to one target that uses none of these pieces; not reached where there is none.
    /// @param avoided one per piece of the network
    Found find_around(const Snap& target, const std::vector<bool>& avoided);

    /// A kept place and the least it can take without waiting.
    using Bound = Buckets<TimeAndSpread>::Found;
    /// The `wanted` places with the least bounds, the places on the departure's own pieces besides;
    /// exact where nothing waits for a clock. Sorted by bound, then by number.
    struct Bounds {
        std::vector<Bound> places;
        /// Every place that is not among them has at least this bound; `closed` where all are.
        TimeAndSpread others = TimeAndSpread::closed();
    };
    const Bounds& bounds(const PlaceIndex& places, std::size_t wanted, const Offers& offers);

    /// The least bound from every departure to every kept place, row by row.
    /// @throws InputError if a snap is not of this network
    std::vector<TimeAndSpread> all_bounds(std::span<const Departure> departures,
                                          const PlaceIndex& places);

    bool may_wait() const { return metric_->has_waits(); }

private:
    using Climb = UpSearch<TimeAndSpread>;
    std::uint32_t rank(NodeId node) const {
        return metric_->hierarchy().arrays().rank_of_node[node.value];
    }
    /// From all entries, once for each departure.
    void climb();
    /// Where nothing waits for a clock and only the time is asked.
    Label time_to(const Snap& target);
    Found exactly(const Snap& target);
    Way way(const Entry& entry, const std::vector<std::uint32_t>& arcs, const Gate& gate,
            const Snap& target) const;
    /// Calls `visit(place, value)` for each way that never leaves a piece.
    template <typename Visit>
    void visit_beside(const PlaceIndex& places, const Visit& visit) const;
    /// Lowers the bounds of places to which such a way leads.
    void look_beside(const PlaceIndex& places, std::span<TimeAndSpread> row) const;

    const PreparedMetric* metric_;
    const Departure* departure_ = nullptr;
    std::vector<Entry> entries_;
    std::vector<Climb> from_;
    bool has_climbed_ = false;
    /// For whoever needs one more search.
    Climb to_;
    KeptClimbs kept_climbs_;
    std::unique_ptr<GoalSearch> goal_search_;
    Bounds bounds_;
    Unpacker unpacker_;
    /// Of the way unpacked last.
    std::vector<std::uint32_t> arcs_;
};

}  // namespace waybourne::routing
