#pragma once
/// The places of care that a map knows, as a register to be filled in.

#include <span>
#include <string>

#include "routing/osm_import.hpp"

namespace waybourne::server {

/// GeoJSON in the form of docs/howto/import-facilities.md, one feature per place, each marked as a
/// draft, so that an import refuses it until somebody has asked the place itself. The map knows
/// where the place is, its name and its kind. Nothing is written about services, hours and phones:
/// none listed would mean that it offers nothing, and all listed that it may offer everything.
std::string draft_register(std::span<const routing::HealthSite> sites,
                           const std::string& time_zone);

}  // namespace waybourne::server
