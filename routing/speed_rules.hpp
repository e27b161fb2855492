#pragma once
/// How fast each kind of road is for one means of transport under one set of road conditions: what
/// a metric is made from.

#include <functional>
#include <optional>

#include "routing/road_attributes.hpp"
#include "routing/speed_table.hpp"

namespace waybourne::routing {

struct SpeedRules {
    Means means = Means::car;
    RoadConditions conditions;
    /// None: cannot be used by these means under these conditions (a ford in the wet). Access tags
    /// and one-ways are the network's; this is about the ground. Not asked for ferries.
    std::function<std::optional<RoadSpeed>(const RoadAttributes&)> on_road;
    /// Walking where there is no road.
    RoadSpeed off_road;
    /// How much longer a walk is than the straight line: an assumption, not measured.
    double off_road_detour = 1;
    /// Variance of a ferry's crossing per second of it.
    Seconds ferry_spread{};
};

/// The rules of a speed table. Wet fords and seasonal roads are closed in the wet for all but
/// boats. Ashore a boat's people walk, where the network lets boats on: its landing stages (see
/// boat_ways.hpp). `table` must outlive the rules.
SpeedRules speed_rules(const SpeedTable& table, Means means, RoadConditions conditions,
                       Estimate estimate = Estimate::central);

}  // namespace waybourne::routing
