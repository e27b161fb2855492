#include "routing/prepared_metric.hpp"

#include "routing/customise.hpp"
#include "routing/node_order.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

std::vector<TimeAndSpread> values_of(const Metric& metric) {
    const MetricValues all{metric};
    std::vector<TimeAndSpread> values;
    values.reserve(all.size());
    for (std::size_t arc = 0; arc < all.size(); ++arc) {
        values.push_back(all[arc]);
    }
    return values;
}

}  // namespace

GraphView view_of(const RoadNetwork& network) {
    static_assert(sizeof(NodeId) == sizeof(std::uint32_t));
    const NetworkArrays& arrays = network.arrays();
    return {
        arrays.first_out,
        {reinterpret_cast<const std::uint32_t*>(arrays.arc_heads.data()), arrays.arc_heads.size()}};
}

std::shared_ptr<const Hierarchy> make_hierarchy(const RoadNetwork& network,
                                                const Progress& progress) {
    const GraphView graph = view_of(network);
    return std::make_shared<const Hierarchy>(
        Hierarchy::build(graph, nested_dissection_order(graph, {}, progress), progress));
}

PreparedMetric::PreparedMetric(std::shared_ptr<const Metric> metric,
                               std::shared_ptr<const Hierarchy> hierarchy, unsigned threads)
    : metric_(std::move(metric)),
      hierarchy_(std::move(hierarchy)),
      middles_(hierarchy_->arc_count()) {
    if (hierarchy_->node_count() != metric_->network().node_count() ||
        hierarchy_->network_arc_count() != metric_->network().arc_count()) {
        throw InputError("the hierarchy was made from another network than the metric");
    }
    weights_ = customised<TimeAndSpread>(*hierarchy_, values_of(*metric_), threads);
}

PreparedMetric::PreparedMetric(const PreparedMetric& before, std::shared_ptr<const Metric> metric)
    : metric_(std::move(metric)),
      hierarchy_(before.hierarchy_),
      weights_(before.weights_),
      middles_(hierarchy_->arc_count()) {
    const RoadNetwork& network = metric_->network();
    const MetricValues values_before{*before.metric_};
    const std::vector<TimeAndSpread> values = values_of(*metric_);
    std::vector<UpArc> changed;
    for (std::uint32_t number = 0; number < values.size(); ++number) {
        if (values[number] != values_before[number]) {
            const ArcId arc{number};
            changed.push_back(hierarchy_->up_arc(network.tail(arc).value, network.head(arc).value));
        }
    }
    customise_again<TimeAndSpread>(*hierarchy_, values, changed, weights_);
}

}  // namespace waybourne::routing
