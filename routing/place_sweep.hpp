#pragma once
/// From many settlements to places by passes over the whole network, instead of a search for each
/// settlement: what planners' maps are made from.

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "routing/prepared_metric.hpp"
#include "routing/snap.hpp"
#include "routing/sweep.hpp"

namespace waybourne::routing {

/// A way from a settlement to the nearest place of a group.
struct SweptWay {
    /// None where there is none. The way with the least typical time, of equally quick ones the one
    /// with the least spread.
    std::optional<TravelTime> time;
    /// It may rest on a timetable, so that it depends on the departure: only a search can tell.
    /// Where no ferry and no road with hours could shorten the way this is never so.
    bool may_wait = false;
    bool operator==(const SweptWay&) const = default;
};

/// Made once per set of road conditions and asked for any groups of places. Immutable; share it
/// between threads. 4 bytes per junction and 12 per up arc of the junctions above a settlement in
/// the hierarchy, twice that where the metric has timetables.
class PlaceSweep {
public:
    using Place = std::optional<Snap>;

    /// @param settlements none: off the map, from where nothing is reached
    /// @param order of the metric's hierarchy; its own if none
    /// @throws InputError if a snap is not of the metric's network
    PlaceSweep(std::shared_ptr<const PreparedMetric> metric, std::vector<Place> settlements,
               std::shared_ptr<const SweepOrder> order = nullptr);
    ~PlaceSweep();
    PlaceSweep(const PlaceSweep&) = delete;
    PlaceSweep& operator=(const PlaceSweep&) = delete;

    /// Row by row: from every settlement to the nearest place of each group. Equal to what a router
    /// finds wherever nobody may wait. One pass over these up arcs serves eight groups, whatever
    /// the number of places: PHAST (Delling, Goldberg, Nowatzyk, Werneck, J. Parallel Distrib.
    /// Comput. 73, 2013, 940-952) against the traffic, and down to the settlements only, as in its
    /// RPHAST (Delling, Goldberg, Werneck, ATMOS 2011, from memory).
    std::vector<SweptWay> to_nearest(std::span<const std::vector<Snap>> groups) const;

    std::size_t settlements() const { return settlements_.size(); }

private:
    class Pass;

    std::vector<Place> settlements_;
    std::unique_ptr<const Pass> pass_;
    /// Over what has no timetable; null where nothing has.
    std::unique_ptr<const Pass> unwaited_;
};

}  // namespace waybourne::routing
