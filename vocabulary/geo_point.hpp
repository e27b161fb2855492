#pragma once
/// A position on the earth, and the distance between two of them.

#include "vocabulary/distance.hpp"
#include "vocabulary/latitude_longitude.hpp"

namespace waybourne {

/// A position in WGS 84. A GeoPoint that exists is valid: latitude in [-90, 90], longitude in
/// [-180, 180] degrees, both finite. Immutable; copy it freely (16 bytes).
class GeoPoint {
public:
    /// @throws InputError naming the coordinate, its value and its range
    GeoPoint(Latitude latitude, Longitude longitude);
    Latitude latitude() const { return latitude_; }
    Longitude longitude() const { return longitude_; }
    bool operator==(const GeoPoint&) const = default;

private:
    Latitude latitude_;
    Longitude longitude_;
};

/// The earth as a sphere: mean radius R1 of GRS 80 (Moritz, J. Geodesy 74, 2000, 128-133).
inline constexpr Metres earth_mean_radius{6'371'008.8};

/// Along a great circle, by the haversine formula (Sinnott, Sky & Telescope 68, 1984, 159).
/// Equal points and the 180° meridian are fine. The sphere's radius is up to 0.6 % off the
/// ellipsoid's: good for comparing and for bounds, not for surveying. O(1).
Metres great_circle_distance(const GeoPoint& from, const GeoPoint& to);

}  // namespace waybourne
