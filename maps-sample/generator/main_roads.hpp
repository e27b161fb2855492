#pragma once
/// The roads drawn by hand, on which the stories of README.md rest.

#include "maps-sample/generator/road_map.hpp"

namespace waybourne::sample {

/// How the kinds of road are built here.
namespace style {
inline const RoadStyle trunk{"trunk", "asphalt", "", 0.06, 0.5};
inline const RoadStyle secondary{"secondary", "asphalt", "", 0.09, 0.45};
inline const RoadStyle primary{"primary", "asphalt", "", 0.08, 0.45};
inline const RoadStyle secondary_gravel{"secondary", "gravel", "", 0.10, 0.45};
inline const RoadStyle tertiary_paved{"tertiary", "asphalt", "", 0.11, 0.4};
inline const RoadStyle tertiary{"tertiary", "gravel", "", 0.12, 0.4};
inline const RoadStyle unclassified{"unclassified", "gravel", "", 0.15, 0.4};
inline const RoadStyle earth{"unclassified", "ground", "", 0.16, 0.4};
inline const RoadStyle track{"track", "gravel", "grade2", 0.18, 0.35};
inline const RoadStyle ridge_track{"track", "gravel", "grade2", 0.22, 0.3};
inline const RoadStyle hill_track{"track", "ground", "grade3", 0.20, 0.3};
inline const RoadStyle path{"path", "ground", "", 0.22, 0.3};
inline const RoadStyle street{"residential", "compacted", "", 0.05, 0.2};
}  // namespace style

void draw_main_roads(RoadMap& map);

}  // namespace waybourne::sample
