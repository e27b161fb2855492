#include "coverage/observed.hpp"

#include <doctest/doctest.h>

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

constexpr routing::RoadConditions dry_day{routing::Surface::dry, routing::Light::day};
constexpr routing::RoadConditions wet_night{routing::Surface::wet, routing::Light::night};

std::vector<ObservedJourney> journeys(std::size_t count, Seconds took,
                                      routing::RoadConditions conditions = dry_day) {
    return std::vector<ObservedJourney>(count, {conditions, {40min, 60min}, took});
}

}  // namespace

TEST_CASE("Of fewer than five journeys only their number is told") {
    CHECK(spread_of({1min, 2min, 3min, 4min}) == ObservedSpread{4, {}, {}});
    CHECK(spread_of({5min, 1min, 2min, 3min, 4min}) == ObservedSpread{5, 3min, 5min});
    CHECK_FALSE(calibrations(journeys(4, 50min))[0].median_ratio.has_value());
}

TEST_CASE("Journeys that took half as long again ask for two thirds of the speed") {
    const Calibration made = calibrations(journeys(20, 60min))[0];
    CHECK(made.conditions == dry_day);
    CHECK(made.journeys == 20);
    CHECK(made.median_ratio == doctest::Approx(1.5));
    CHECK(made.speed_factor == doctest::Approx(2.0 / 3));
    CHECK(made.share_within_allow == 1);  // the allowed hour itself is within
    CHECK(calibrations(journeys(20, 61min))[0].share_within_allow == 0);
}

TEST_CASE("Nineteen journeys say how it was, but offer no other speeds") {
    const Calibration made = calibrations(journeys(19, 60min))[0];
    CHECK(made.median_ratio.has_value());
    CHECK_FALSE(made.speed_factor.has_value());
}

TEST_CASE("Wet nights say nothing of dry days") {
    const auto all = calibrations(journeys(30, 80min, wet_night));
    REQUIRE(all.size() == 4);
    CHECK(all[0].journeys == 0);
    CHECK(all[3].conditions == wet_night);
    CHECK(all[3].speed_factor == doctest::Approx(0.5));
}
