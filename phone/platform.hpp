#pragma once
/// What a server has from its machine and a phone from its pack.

#include <vector>

#include "vocabulary/time_zone.hpp"

namespace waybourne::phone {

/// The zones that `load_time_zone` finds from now on. For the one thread there is.
/// @return those that it found before
std::vector<TimeZone> provide_time_zones(std::vector<TimeZone> zones);

}  // namespace waybourne::phone
