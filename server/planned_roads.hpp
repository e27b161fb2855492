#pragma once
/// A snapshot's roads as dispatch asks for them.

#include <list>
#include <memory>
#include <optional>
#include <vector>

#include "dispatch/district_roads.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// For one planning, or one simulation: one thread's. The routers judge each trip as a
/// recommendation does (routing/careful_router.hpp); metrics, and what is made of them, are those
/// of the moment of departure. `snapshot` must outlive it. Routers throw Unavailable when every
/// search is busy.
class PlannedRoads final : public dispatch::DistrictRoads {
public:
    explicit PlannedRoads(const Snapshot& snapshot);
    ~PlannedRoads() override;

    dispatch::RoadsOf roads(routing::Means means, Instant departs) override;
    /// Kept with the snapshot's roads: one planning after the other asks the same.
    std::shared_ptr<const routing::SweptMetric> swept(routing::Means means,
                                                      Instant departs) override;
    std::optional<routing::Snap> snap(const GeoPoint& point, routing::Means means,
                                      Instant departs) override;
    std::span<const routing::Landing> landings() override { return snapshot_.landings; }
    std::optional<Instant> dawn_after(Instant now) override;

private:
    struct Kind;
    /// Boats have ways of their own where the district lists them, and else nowhere to go.
    const Roads& roads_for(routing::Means means) const;
    Kind& kind_of(routing::Means means, Instant departs);

    const Snapshot& snapshot_;
    /// A list: who was given one keeps it while others are added.
    std::list<Kind> kinds_;
};

}  // namespace waybourne::server
