#include "vocabulary/geo_point.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "vocabulary/error.hpp"

namespace waybourne {

namespace {

void require_within(const char* name, double value, double limit) {
    if (std::isfinite(value) && std::abs(value) <= limit) {
        return;
    }
    throw InputError(fmt::format("{} {:g} is outside -{:g} to {:g}", name, value, limit, limit));
}

double radians(double degrees) {
    return degrees * std::numbers::pi / 180.0;
}

}  // namespace

GeoPoint::GeoPoint(Latitude latitude, Longitude longitude)
    : latitude_(latitude), longitude_(longitude) {
    require_within("latitude", latitude.degrees, 90);
    require_within("longitude", longitude.degrees, 180);
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
