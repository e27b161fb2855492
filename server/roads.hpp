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

    /// The roads over a stretch of time, each as it is at its worst moment. Cheap to copy; lives no
    /// longer than the roads it is of.
    class State {
    public:
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
        State(const Roads& roads, std::shared_ptr<Shelf> shelf);

        const Roads* roads_;
        std::shared_ptr<Shelf> shelf_;
    };

    /// Safe from any thread. Made where it has not been asked for yet.
    State state(const WayKind& kind, Instant at) const { return state(kind, at, at); }
    /// What holds at any moment from `from` to `to`, both included; `kind` names the worst light
    /// and surface of it.
    State state(const WayKind& kind, Instant from, Instant to) const;

    /// A router that is one thread's while it holds this. Whoever holds one asks for no other:
    /// there are only so many.
    class Lease {
    public:
        Lease(Lease&&) noexcept;
        Lease& operator=(Lease&&) = delete;
        Lease(const Lease&) = delete;
        Lease& operator=(const Lease&) = delete;
        ~Lease();

        routing::Router& router() { return *router_; }

    private:
        friend class Roads;
        Lease(State state, std::unique_ptr<routing::Router> router);

        State state_;
        std::unique_ptr<routing::Router> router_;
    };

    /// A router over that state of these roads. Safe from any thread. Ends before these roads do.
    /// @throws Unavailable when every router has been busy for two seconds
    Lease lend(const State& state) const;

    /// When the changes that concern these means next turn a road worse, after that moment.
    std::optional<Instant> next_turn(routing::Means means, Instant after) const;

    /// Where on the roads a point lies, if `metric`, of this network, says which are open.
    std::optional<routing::Snap> snap(const GeoPoint& point, const routing::Metric& metric) const;
    const routing::SnapIndex& snap_index() const { return *index_; }

    Engine engine() const { return sources_.hierarchy ? Engine::hierarchy : Engine::reference; }
    const RoadSources& sources() const { return sources_; }
    const routing::RoadNetwork& network() const { return *sources_.network; }
    const std::vector<routing::RoadChange>& changes() const { return sources_.changes; }
    /// Null where the reference engine finds the ways.
    const routing::Hierarchy* hierarchy() const { return sources_.hierarchy.get(); }

private:
    struct Pool;
    struct Order;
    using Shelf = State::Shelf;
    struct Turn {
        Instant at{};
        routing::MeansSet means;
    };
    Roads(RoadSources sources, std::shared_ptr<const routing::SnapIndex> index,
          std::shared_ptr<const routing::ReferenceGraph> graph, std::shared_ptr<Order> order,
          std::size_t most_routers);
    std::shared_ptr<const routing::SweptMetric> swept(Shelf& shelf) const;
    std::shared_ptr<Shelf> shelf(const WayKind& kind, Instant from, Instant to) const;
    void fill(Shelf& shelf, const WayKind& kind, Instant from, Instant to,
              const Shelf* before) const;
    std::size_t epoch(Instant at) const;

    RoadSources sources_;
    std::shared_ptr<const routing::SnapIndex> index_;
    std::shared_ptr<const routing::ReferenceGraph> graph_;  ///< of the reference engine
    std::shared_ptr<Order> order_;     ///< of the hierarchy, whatever the conditions
    std::vector<Instant> boundaries_;  ///< where a road change begins or ends, in order
    std::vector<Turn> turns_;          ///< where one turns a road worse, in order
    std::size_t most_routers_;
    std::unique_ptr<Pool> pool_;
};

}  // namespace waybourne::server
