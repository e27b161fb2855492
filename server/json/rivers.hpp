#pragma once
/// The rivers of a district as GeoJSON (RFC 7946): one LineString each, with a `name`.

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "routing/river.hpp"

namespace waybourne::server {

/// Of rivers that were read from OpenStreetMap data: the file names its source and licence.
std::string rivers_to_geojson(std::span<const routing::River> rivers);

/// Positions are kept to 1e-7 of a degree. O(length).
/// @throws InputError for what is no such file, with the place of every error: another kind of
///         geometry, fewer than two positions, a position outside the earth
std::vector<routing::River> parse_rivers(std::string_view json);

}  // namespace waybourne::server
