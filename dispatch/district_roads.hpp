#pragma once
/// The roads as dispatch needs them: for each means, under the conditions that hold at a moment.

#include <memory>
#include <optional>
#include <span>

#include "routing/boat_ways.hpp"
#include "routing/metric.hpp"
#include "routing/router.hpp"
#include "routing/swept_metric.hpp"

namespace waybourne::dispatch {

/// The ways for one means. Lives as long as the DistrictRoads that gave it.
struct RoadsOf {
    routing::Router* router = nullptr;
    /// What the router searches; null where only times are known: then a rendezvous is looked for
    /// at landings alone.
    std::shared_ptr<const routing::Metric> metric = nullptr;
    /// In the register's order; none where a facility lies off the map for these means.
    std::span<const std::optional<routing::Snap>> facility_snaps = {};
    /// Whether roads turn worse later on (it gets dark, one is closed): then what the router
    /// answers depends on the departure even where the metric has no timetables.
    bool has_turns = false;
};

/// One thread's, since routers are.
class DistrictRoads {
public:
    virtual ~DistrictRoads() = default;
    /// The metric is that of `departs` for the whole way; the router is asked with departures about
    /// that moment, and may know that roads turn worse under way.
    virtual RoadsOf roads(routing::Means means, Instant departs) = 0;
    /// The same roads for passes over the whole network; null where there is no hierarchy. Asked
    /// only where a rendezvous is looked for.
    virtual std::shared_ptr<const routing::SweptMetric> swept(routing::Means /*means*/,
                                                              Instant /*departs*/) {
        return nullptr;
    }
    /// None where no road for these means is near.
    virtual std::optional<routing::Snap> snap(const GeoPoint& point, routing::Means means,
                                              Instant departs) = 0;
    /// Where people get from the roads onto a boat and back; they lie on the ways of boats exactly.
    virtual std::span<const routing::Landing> landings() { return {}; }
    /// The next moment at which it becomes light; none while it is light.
    virtual std::optional<Instant> dawn_after(Instant now) = 0;
};

}  // namespace waybourne::dispatch
