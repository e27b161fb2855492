#pragma once
/// The file in which a district writes down where boats land and how long they take: its form is in
/// docs/dispatch.md.

#include <string>
#include <string_view>

#include "routing/boat_ways.hpp"

namespace waybourne::server {

/// @param zone the district's IANA time zone, in which `hours` are written
/// @throws InputError for what is no such file, with the place of every error: a landing without
///         position, an id that stands twice, a way to an unknown landing (with the nearest known
///         one), minutes outside 1 to 1440, hours that are not understood
routing::BoatWays parse_boat_ways(std::string_view json, const std::string& zone);

}  // namespace waybourne::server
