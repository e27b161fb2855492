#include "server/scenario_roads.hpp"

#include "routing/hierarchy_router.hpp"
#include "routing/place_sweep.hpp"

namespace waybourne::server {

namespace {

/// An end of a new bridge is joined to the nearest junction, if that is no farther. A proposal.
constexpr Metres bridge_reach{2000};
/// From this many junctions on a network with a new bridge is contracted anew, at about 20 s per
/// million; below, the reference engine is there sooner.
constexpr std::uint32_t fewest_nodes_to_contract = 20'000;

}  // namespace

ScenarioRoads::ScenarioRoads(const Roads& roads, const WayKind& kind, Instant at,
                             const coverage::Scenario& scenario)
    : roads_(roads) {
    const Roads::State state = roads.state(kind, at);
    metric_ = state.metric();
    prepared_ = state.prepared();
    if (coverage::changes_roads(scenario)) {
        change(kind, at, scenario);
    }
    if (prepared_) {
        router_ = std::make_unique<routing::HierarchyRouter>(prepared_);
    } else {
        router_ = std::make_unique<routing::ReferenceRouter>(metric_);
    }
}

void ScenarioRoads::change(const WayKind& kind, Instant at, const coverage::Scenario& scenario) {
    const RoadSources& sources = roads_.sources();
    const routing::SpeedRules rules =
        routing::speed_rules(*sources.speeds, kind.means, kind.conditions);
    std::shared_ptr<const routing::RoadNetwork> network = sources.network;
    std::shared_ptr<const routing::Hierarchy> hierarchy = sources.hierarchy;
    std::vector<routing::TemporaryLink> links = sources.links;
    const auto bridges = coverage::links_of(scenario);
    if (!bridges.empty()) {
        network = std::make_shared<const routing::RoadNetwork>(
            routing::with_links(*network, bridges, bridge_reach));
        links.insert(links.end(), bridges.begin(), bridges.end());
        own_index_.emplace(network);
        hierarchy = hierarchy && network->node_count() >= fewest_nodes_to_contract
                        ? routing::make_hierarchy(*network)
                        : nullptr;
    }
    const auto anew = [&](const routing::SpeedRules& other) {
        return routing::Metric(network, other, sources.changes, links, at);
    };
    metric_ = coverage::with_changes(
        bridges.empty() ? metric_ : std::make_shared<const routing::Metric>(anew(rules)), rules,
        anew, scenario);
    if (!hierarchy) {
        prepared_ = nullptr;
    } else if (bridges.empty()) {
        prepared_ = std::make_shared<const routing::PreparedMetric>(*prepared_, metric_);
    } else {
        prepared_ = std::make_shared<const routing::PreparedMetric>(metric_, hierarchy);
    }
}

std::optional<routing::Snap> ScenarioRoads::snap(const GeoPoint& point) const {
    return own_index_ ? own_index_->snap(point, *metric_) : roads_.snap(point, *metric_);
}

ScenarioRoads::Snaps ScenarioRoads::snaps(std::span<const GeoPoint> points) const {
    Snaps all;
    all.reserve(points.size());
    for (const GeoPoint& point : points) {
        all.push_back(snap(point));
    }
    return all;
}

coverage::TravelTimes ScenarioRoads::ways(const Snaps& from, const Snaps& to, Instant leave_at,
                                          const coverage::Work& work) {
    if (prepared_) {
        return coverage::travel_times(routing::PlaceSweep{prepared_, from}, *router_, from, to,
                                      leave_at, work);
    }
    return coverage::travel_times(*router_, from, to, leave_at, work);
}

}  // namespace waybourne::server
