#pragma once
/// Vehicles as a file: `{"vehicles": [ … ]}`, as docs/dispatch.md writes it down.

#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "dispatch/vehicle.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

/// Nothing is imported unless every vehicle is good.
/// @throws InputError with everything that is wrong, pointers `#/vehicles/3/kit/0`: unknown names
///         (with the nearest known one), an unknown kit, a duty that ends before it begins, an id
///         that stands twice, no place for anybody
std::vector<Vehicle> read_vehicles(std::string_view json);

/// Whether a place lies on roads that this means can use.
using IsOnTheMap = std::function<bool(const Base& base, routing::Means means)>;

/// What can only be told beside a map and a clock: a base or a position off the map, and a position
/// from the future. Boats go where their ways are listed, not on roads: their place is not asked.
/// Pointers as above; empty when all is well.
std::vector<FieldError> problems_of(std::span<const Vehicle> vehicles, const IsOnTheMap& on_the_map,
                                    Instant now, const VehicleSettings& settings = {});

}  // namespace waybourne::dispatch
