#pragma once
/// All roads of the district: the main ones as planned, the others grown to every settlement.

#include <vector>

#include "maps-sample/generator/road_map.hpp"
#include "maps-sample/generator/settlements.hpp"

namespace waybourne::sample {

/// The main roads are drawn by hand (in the source), so that the stories of README.md hold; each
/// village is then joined to the nearest road it can reach without crossing water; a few short cuts
/// make loops of the tree; some village roads get a ford. Every settlement is a node.
RoadMap build_roads(const std::vector<Settlement>& settlements);

}  // namespace waybourne::sample
