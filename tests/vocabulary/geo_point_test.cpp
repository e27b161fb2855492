#include "vocabulary/geo_point.hpp"

#include <doctest/doctest.h>

#include <GeographicLib/Geodesic.hpp>
#include <limits>
#include <random>

#include "vocabulary/error.hpp"

using namespace waybourne;

namespace {

GeoPoint at(double latitude, double longitude) {
    return {Latitude{latitude}, Longitude{longitude}};
}

/// The ellipsoid's geodesic (GeographicLib, Karney, J. Geodesy 87, 2013, 43-55).
double geodesic_metres(const GeoPoint& a, const GeoPoint& b) {
    double metres = 0;
    GeographicLib::Geodesic::WGS84().Inverse(a.latitude().degrees, a.longitude().degrees,
                                             b.latitude().degrees, b.longitude().degrees, metres);
    return metres;
}

}  // namespace

TEST_CASE("A point off the globe is refused, and the message says what was given") {
    CHECK_NOTHROW(at(90, 180));
    CHECK_NOTHROW(at(-90, -180));
    CHECK_THROWS_WITH_AS(at(97.1, 0), "latitude 97.1 is outside -90 to 90", InputError);
    CHECK_THROWS_WITH_AS(at(0, -180.5), "longitude -180.5 is outside -180 to 180", InputError);
    CHECK_THROWS_AS(at(std::numeric_limits<double>::quiet_NaN(), 0), InputError);
    CHECK_THROWS_AS(at(0, std::numeric_limits<double>::infinity()), InputError);
}

TEST_CASE("A quarter of the way round the earth is a quarter of its circumference") {
    const double quarter = earth_mean_radius.value() * 3.14159265358979323846 / 2;
    CHECK(great_circle_distance(at(0, 0), at(0, 90)).value() == doctest::Approx(quarter));
    CHECK(great_circle_distance(at(0, 0), at(90, 17)).value() == doctest::Approx(quarter));
    CHECK(great_circle_distance(at(0, 0), at(0, 180)).value() == doctest::Approx(2 * quarter));
}

TEST_CASE("Equal points are no distance apart, and the 180° meridian is no wall") {
    CHECK(great_circle_distance(at(12.5, -7.25), at(12.5, -7.25)) == Metres{0});
    const double across = great_circle_distance(at(-17, 179.99), at(-17, -179.99)).value();
    CHECK(across == doctest::Approx(great_circle_distance(at(-17, 0), at(-17, 0.02)).value()));
}

TEST_CASE("The great circle stays within 0.6 % of the geodesic on the ellipsoid (GeographicLib)") {
    constexpr unsigned seed = 20260304;
    CAPTURE(seed);
    std::mt19937 random{seed};
    std::uniform_real_distribution<double> latitude{-90, 90};
    std::uniform_real_distribution<double> longitude{-180, 180};
    for (int i = 0; i < 20'000; ++i) {
        const GeoPoint from = at(latitude(random), longitude(random));
        const GeoPoint to = at(latitude(random), longitude(random));
        const double exact = geodesic_metres(from, to);
        CAPTURE(exact);
        REQUIRE(great_circle_distance(from, to).value() == doctest::Approx(exact).epsilon(0.006));
    }
}
