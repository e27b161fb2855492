#pragma once
/// The map as an OpenStreetMap file.

#include <string>
#include <vector>

#include "maps-sample/generator/road_map.hpp"
#include "maps-sample/generator/settlements.hpp"

namespace waybourne::sample {

/// OpenStreetMap XML 0.6 (wiki.openstreetmap.org/wiki/OSM_XML): positive ids, nodes before ways, in
/// the order of their ids. Roads, ferries, river lines and outlines, and the settlements by name.
std::string to_osm(const RoadMap& map, const std::vector<Settlement>& settlements);

}  // namespace waybourne::sample
