#pragma once
/// The ways of a district, ready to be asked by many threads at once.

#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include "routing/closure.hpp"
#include "routing/hierarchy.hpp"
#include "routing/metric.hpp"
#include "routing/prepared_metric.hpp"
#include "routing/reference_router.hpp"
#include "routing/snap.hpp"
#include "routing/speed_table.hpp"
#include "routing/swept_metric.hpp"
#include "server/engine.hpp"
#include "vocabulary/geo_point.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::server {

/// What ways are worked out from.
struct RoadSources {
    std::shared_ptr<const routing::RoadNetwork> network;
    std::shared_ptr<const routing::SpeedTable> speeds;
    std::vector<routing::RoadChange> changes;
    std::vector<routing::TemporaryLink> links;
    /// In the register's order.
    std::vector<GeoPoint> facility_points;
    /// Of the network; none: the reference engine finds the ways.
    std::shared_ptr<const routing::Hierarchy> hierarchy;
};

/// Which weights are meant.
struct WayKind {
    routing::Means means = routing::Means::car;
    routing::RoadConditions conditions;
    bool operator==(const WayKind&) const = default;
};

/// Metrics, the places of the facilities on them, and routers to lend. Metrics are made when first
/// asked for and again when a road change begins or ends, each from the one before it where there
/// is one; routers go back to a pool. From outside nothing changes: the same question always has
/// the same answer.
class Roads {
public:
    /// @param most_routers how many may search at once; others wait for one
    Roads(const RoadSources& sources, std::size_t most_routers);
    ~Roads();

    /// The same roads under other changes, to be published in place of these. What these hold ready
    /// is made ready there before it returns: copied, and brought up to date where a road differs.
    /// These stay as they are for whoever still asks them.
    /// @param now decides which changes are in force
    std::shared_ptr<const Roads> with_changes(std::vector<routing::RoadChange> changes,
                                              Instant now) const;

    /// A router that is one thread's while it holds this.
    class Lease {
    public:
        Lease(Lease&&) noexcept;
        Lease& operator=(Lease&&) = delete;
        Lease(const Lease&) = delete;
        Lease& operator=(const Lease&) = delete;
        ~Lease();

        routing::Router& router() { return *router_; }
        /// What it searches.
        const std::shared_ptr<const routing::Metric>& metric() const;
        /// The same as the hierarchy has it; null where the reference engine finds the ways.
        const std::shared_ptr<const routing::PreparedMetric>& prepared() const;
        /// The same for passes over the whole network, made when first asked for and kept as long
        /// as these roads; null where the reference engine finds the ways. Waits where another
        /// thread is just making it.
        std::shared_ptr<const routing::SweptMetric> swept() const;
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

    /// Safe from any thread. Ends before these roads do.
    /// @throws Unavailable when every router has been busy for two seconds
    Lease lend(const WayKind& kind, Instant at) const;

    /// Where on the roads a point lies, if `metric`, of this network, says which are open.
    std::optional<routing::Snap> snap(const GeoPoint& point, const routing::Metric& metric) const;

    Engine engine() const { return sources_.hierarchy ? Engine::hierarchy : Engine::reference; }
    const RoadSources& sources() const { return sources_; }
    const routing::RoadNetwork& network() const { return *sources_.network; }
    const std::vector<routing::RoadChange>& changes() const { return sources_.changes; }
    /// Null where the reference engine finds the ways.
    const routing::Hierarchy* hierarchy() const { return sources_.hierarchy.get(); }

private:
    struct Pool;
    struct Order;
    using Shelf = Lease::Shelf;
    Roads(RoadSources sources, std::shared_ptr<const routing::SnapIndex> index,
          std::shared_ptr<const routing::ReferenceGraph> graph, std::shared_ptr<Order> order,
          std::size_t most_routers);
    std::shared_ptr<const routing::SweptMetric> swept(Shelf& shelf) const;
    std::shared_ptr<Shelf> shelf(const WayKind& kind, Instant at) const;
    void fill(Shelf& shelf, const WayKind& kind, Instant at, const Shelf* before) const;
    std::size_t epoch(Instant at) const;

    RoadSources sources_;
    std::shared_ptr<const routing::SnapIndex> index_;
    std::shared_ptr<const routing::ReferenceGraph> graph_;  ///< of the reference engine
    std::shared_ptr<Order> order_;     ///< of the hierarchy, whatever the conditions
    std::vector<Instant> boundaries_;  ///< where a road change begins or ends, in order
    std::size_t most_routers_;
    std::unique_ptr<Pool> pool_;
};

}  // namespace waybourne::server
