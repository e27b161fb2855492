#pragma once
/// The two coordinates as types of their own, so that they cannot be swapped by accident.

#include <compare>

namespace waybourne {

/// Degrees north of the equator. Holds any number: `GeoPoint` checks the range.
struct Latitude {
    double degrees = 0;
    auto operator<=>(const Latitude&) const = default;
};

/// Degrees east of Greenwich. Holds any number: `GeoPoint` checks the range.
struct Longitude {
    double degrees = 0;
    auto operator<=>(const Longitude&) const = default;
};

}  // namespace waybourne
