#pragma once
/// The ways of a district, ready to be asked by many threads at once.

#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include "routing/closure.hpp"
#include "routing/metric.hpp"
#include "routing/reference_router.hpp"
#include "routing/snap.hpp"
#include "routing/speed_table.hpp"
#include "vocabulary/geo_point.hpp"

namespace waybourne::server {

/// What ways are worked out from.
struct RoadSources {
    std::shared_ptr<const routing::RoadNetwork> network;
    std::shared_ptr<const routing::SpeedTable> speeds;
    std::vector<routing::RoadChange> changes;
    std::vector<routing::TemporaryLink> links;
    /// In the register's order.
    std::vector<GeoPoint> facility_points;
};

/// Which weights are meant.
struct WayKind {
    routing::Means means = routing::Means::car;
    routing::RoadConditions conditions;
    bool operator==(const WayKind&) const = default;
};

/// Metrics, the places of the facilities on them, and routers to lend. Metrics are made when first
/// asked for and again when a road change begins or ends; routers go back to a pool. From outside
/// nothing changes: the same question always has the same answer.
class Roads {
public:
    /// @param most_routers how many may search at once; others wait for one
    Roads(RoadSources sources, std::size_t most_routers);
    ~Roads();

    /// A router that is one thread's while it holds this.
    class Lease {
    public:
        Lease(Lease&&) noexcept;
        Lease& operator=(Lease&&) = delete;
        Lease(const Lease&) = delete;
        Lease& operator=(const Lease&) = delete;
        ~Lease();

        routing::Router& router() { return *router_; }
        /// In the register's order; none where a facility lies off the map.
        const std::vector<std::optional<routing::Snap>>& facility_snaps() const;
        /// None where no road for these means is within reach.
        std::optional<routing::Snap> snap(const GeoPoint& point) const;

    private:
        friend class Roads;
        struct Shelf;
        Lease(const Roads& roads, std::shared_ptr<Shelf> shelf,
              std::unique_ptr<routing::Router> router);

        const Roads* roads_;
        std::shared_ptr<Shelf> shelf_;
        std::unique_ptr<routing::Router> router_;
    };

    /// Safe from any thread.
    /// @throws Unavailable when every router has been busy for two seconds
    Lease lend(const WayKind& kind, Instant at) const;

    const routing::RoadNetwork& network() const { return *sources_.network; }
    const std::vector<routing::RoadChange>& changes() const { return sources_.changes; }

private:
    struct Pool;
    std::shared_ptr<Lease::Shelf> shelf(const WayKind& kind, Instant at) const;
    std::size_t epoch(Instant at) const;

    RoadSources sources_;
    routing::SnapIndex index_;
    std::shared_ptr<const routing::ReferenceGraph> graph_;
    std::vector<Instant> boundaries_;  ///< where a road change begins or ends, in order
    std::unique_ptr<Pool> pool_;
};

}  // namespace waybourne::server
