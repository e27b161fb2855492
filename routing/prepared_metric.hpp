#pragma once
/// A metric made ready for the fast engine.

#include <memory>
#include <vector>

#include "routing/arc_value.hpp"
#include "routing/hierarchy.hpp"
#include "routing/metric.hpp"
#include "routing/unpacker.hpp"

namespace waybourne::routing {

/// The network as the plain graph that orders and hierarchies are made from. Lives as long as the
/// network.
GraphView view_of(const RoadNetwork& network);

/// Orders and contracts it, once for all road conditions: about 20 s per million nodes, nearly all
/// of it the order; `waybourne import` keeps the result in the map file. The same network gives the
/// same hierarchy.
/// @throws Unavailable as `nested_dissection_order`
std::shared_ptr<const Hierarchy> make_hierarchy(const RoadNetwork& network,
                                                const Progress& progress = {});

/// One set of road conditions on a hierarchy: what HierarchyRouter searches. Immutable; share it
/// between threads and replace it whole. 18 bytes per up arc.
class PreparedMetric {
public:
    /// Customises. @param hierarchy one of the metric's network
    /// @throws InputError if the hierarchy has another number of nodes or arcs
    PreparedMetric(std::shared_ptr<const Metric> metric, std::shared_ptr<const Hierarchy> hierarchy,
                   unsigned threads = 1);
    /// The same roads after a few changes: copies `before` and brings it up to date where `metric`
    /// differs from its metric; the weights are bit for bit what customising anew gives. Both of
    /// one network.
    PreparedMetric(const PreparedMetric& before, std::shared_ptr<const Metric> metric);

    const Metric& metric() const { return *metric_; }
    const Hierarchy& hierarchy() const { return *hierarchy_; }
    std::span<const BothWays<TimeAndSpread>> weights() const { return weights_; }
    /// All that is needed to find a way and take it apart. Lives as long as this.
    Weighted<TimeAndSpread, MetricValues> weighted() const {
        return {*hierarchy_, MetricValues{*metric_}, weights_, middles_};
    }
    /// Whether what the arc takes depends on when one gets there.
    bool waits(ArcId arc) const { return metric_->waits(arc); }
    bool has_waits() const { return metric_->has_waits(); }

private:
    std::shared_ptr<const Metric> metric_;
    std::shared_ptr<const Hierarchy> hierarchy_;
    std::vector<BothWays<TimeAndSpread>> weights_;
    MiddleNotes middles_;
};

}  // namespace waybourne::routing
