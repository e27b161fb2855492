#include "vocabulary/geo_point.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <sstream>

#include "vocabulary/error.hpp"

namespace waybourne {

namespace {

[[noreturn]] void refuse(const char* name, double value, double limit) {
    std::ostringstream message;
    message << name << ' ' << value << " is outside -" << limit << " to " << limit;
    throw InputError(message.str());
}

double radians(double degrees) {
    return degrees * std::numbers::pi / 180.0;
}

}  // namespace

void GeoPoint::refuse_outside(Latitude latitude, Longitude longitude) {
    std::abs(latitude.degrees) <= latitude_limit
        ? refuse("longitude", longitude.degrees, longitude_limit)
        : refuse("latitude", latitude.degrees, latitude_limit);
}

Metres great_circle_distance(const GeoPoint& from, const GeoPoint& to) {
    const double latitude_half =
        std::sin(radians(to.latitude().degrees - from.latitude().degrees) / 2);
    const double longitude_half =
        std::sin(radians(to.longitude().degrees - from.longitude().degrees) / 2);
    const double chord =
        latitude_half * latitude_half + std::cos(radians(from.latitude().degrees)) *
                                            std::cos(radians(to.latitude().degrees)) *
                                            longitude_half * longitude_half;
    return earth_mean_radius * (2 * std::asin(std::sqrt(std::clamp(chord, 0.0, 1.0))));
}

}  // namespace waybourne
