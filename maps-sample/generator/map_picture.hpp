#pragma once
/// The district as a picture for its README.

#include <string>
#include <vector>

#include "maps-sample/generator/road_map.hpp"
#include "maps-sample/generator/settlements.hpp"

namespace waybourne::sample {

/// An SVG picture, ten points to the kilometre, north at the top. Colours only tell water from road
/// from place; none means good or bad.
std::string to_svg(const RoadMap& map, const std::vector<Settlement>& settlements);

}  // namespace waybourne::sample
