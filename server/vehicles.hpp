#pragma once
/// The vehicles of a district.

#include <span>
#include <string>
#include <vector>

#include "dispatch/vehicle.hpp"
#include "server/planned_roads.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// As the district's file lists them; none where it has no such file.
/// @throws InputError as `dispatch::read_vehicles`
std::vector<dispatch::Vehicle> vehicles_of(const Snapshot& snapshot);

/// @throws InputError for bases and positions off the map, and positions from the future
void check_vehicles(const Snapshot& snapshot, PlannedRoads& roads,
                    std::span<const dispatch::Vehicle> vehicles, Instant now);

}  // namespace waybourne::server
