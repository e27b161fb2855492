#pragma once
/// Networks typed in as arcs with weights, for textbook examples and for random ones.

#include <cstdint>
#include <memory>
#include <optional>
#include <random>
#include <vector>

#include "routing/metric.hpp"
#include "routing/router.hpp"
#include "tests/routing/lemon_oracle.hpp"

namespace waybourne::tests {

/// Every arc is a one-way road of its own; weights are in tenths of a second.
struct WeightedArc {
    std::uint32_t tail = 0;
    std::uint32_t head = 0;
    std::uint32_t typical_ds = 0;
    std::uint32_t variance_ds2 = 0;
};

/// Nodes keep their numbers.
std::shared_ptr<const routing::Metric> weighted_network(std::uint32_t nodes,
                                                        const std::vector<WeightedArc>& arcs);

/// Both directions of each.
std::vector<WeightedArc> both_ways(std::vector<WeightedArc> arcs);

/// A place exactly at each node; without access where the node has no road but ferries.
std::vector<routing::Snap> node_snaps(const routing::RoadNetwork& network);

/// From one node to all, in seconds, exact when the weights are whole seconds.
std::vector<std::optional<Seconds>> typical_from(
    const std::shared_ptr<const routing::Metric>& metric, std::uint32_t node);

/// The open arcs with their typical times, for the second library.
std::vector<OracleArc> oracle_arcs(const routing::Metric& metric);

/// `density` arcs per node on average, loops, parallel arcs and weights of nothing among them.
std::vector<WeightedArc> random_arcs(std::uint32_t nodes, double density, std::mt19937& random);

}  // namespace waybourne::tests
