#pragma once
/// The vehicles of a district.

#include <map>
#include <span>
#include <vector>

#include "dispatch/vehicle_report.hpp"
#include "server/planned_roads.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// What is known of vehicles besides the district's file, by vehicle.
using VehicleReports = std::map<VehicleId, dispatch::VehicleReport>;

/// The vehicles of the district's file as they are known now.
std::vector<dispatch::Vehicle> vehicles_now(const Snapshot& snapshot,
                                            const VehicleReports& reports);

/// @throws NotFound, with the nearest id
const dispatch::Vehicle& vehicle_of(const Snapshot& snapshot, const VehicleId& id);

/// @throws InputError for bases and positions off the map, and positions from the future
void check_vehicles(const Snapshot& snapshot, PlannedRoads& roads,
                    std::span<const dispatch::Vehicle> vehicles, Instant now);

}  // namespace waybourne::server
