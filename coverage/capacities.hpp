#pragma once
/// How many births a year each place has room for, as a file.

#include <string_view>
#include <vector>

#include "vocabulary/identifier.hpp"

namespace waybourne::coverage {

/// How many women a year one place can give the care that is asked about, whatever limits it there:
/// beds, theatre hours, hands. Somebody who knows the place says it; it is never worked out here.
struct Capacity {
    FacilityId facility;
    /// Not negative; 0 is a place that is known to have no room.
    double births_per_year = 0;
    bool operator==(const Capacity&) const = default;
};

/// CSV with `facility` and `births_per_year`. A place that is not named has no known capacity,
/// which is neither none nor any.
/// @throws InputError with every bad row: a facility twice, a number that is none or negative
std::vector<Capacity> read_capacities(std::string_view csv);

}  // namespace waybourne::coverage
