#pragma once
/// A district's roads as a scenario would make them.

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "coverage/travel_times.hpp"
#include "coverage/what_if.hpp"
#include "server/roads.hpp"

namespace waybourne::server {

/// One thread's. Where the scenario changes no road the metric is the district's own; else one of
/// their own, customised at once; with a new bridge a network of their own. Searches with a router
/// of its own, so that nobody else waits for one. `roads` must outlive it.
class ScenarioRoads {
public:
    using Snaps = std::vector<std::optional<routing::Snap>>;

    /// @throws InputError for a change that means no road of the map, or a bridge whose end is far
    ///         from any
    ScenarioRoads(const Roads& roads, const WayKind& kind, Instant at,
                  const coverage::Scenario& scenario);

    const std::shared_ptr<const routing::Metric>& metric() const { return metric_; }
    /// None where no road for these means is within reach.
    std::optional<routing::Snap> snap(const GeoPoint& point) const;
    Snaps snaps(std::span<const GeoPoint> points) const;
    /// Waiting for ferries included. By sweeps where the hierarchy finds the ways.
    coverage::TravelTimes ways(const Snaps& from, const Snaps& to, Instant leave_at,
                               const coverage::Work& work);

private:
    void change(const WayKind& kind, Instant at, const coverage::Scenario& scenario);

    const Roads& roads_;
    std::shared_ptr<const routing::Metric> metric_;
    /// Null where the reference engine finds the ways.
    std::shared_ptr<const routing::PreparedMetric> prepared_;
    std::unique_ptr<routing::Router> router_;
    /// Of a network of its own.
    std::optional<routing::SnapIndex> own_index_;
};

}  // namespace waybourne::server
