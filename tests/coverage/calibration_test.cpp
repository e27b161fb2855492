#include "coverage/calibration.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

constexpr auto dry = routing::Surface::dry;
constexpr auto wet = routing::Surface::wet;

/// So many journeys of an hour by the table, partly on tracks and partly on main roads, that took
/// as these factors say, up to a few per cent.
std::vector<ObservedWay> journeys(int count, double on_track, double on_primary,
                                  std::mt19937& random, routing::Surface surface = dry,
                                  routing::Light light = routing::Light::day) {
    std::uniform_real_distribution<double> share(0.1, 0.9);
    std::normal_distribution<double> noise(1, 0.04);
    std::vector<ObservedWay> all;
    for (int i = 0; i < count; ++i) {
        const double track = 3600 * share(random);
        const double primary = 3600 - track;
        all.push_back({surface,
                       {{"track", track}, {"primary", primary}},
                       600,
                       600 + (on_track * track + on_primary * primary) * noise(random),
                       light});
    }
    return all;
}

const ClassCalibration& of(const std::vector<ClassCalibration>& all, const std::string& road_class,
                           routing::Surface surface = dry,
                           std::optional<routing::Light> light = {}) {
    for (const ClassCalibration& one : all) {
        if (one.road_class == road_class && one.surface == surface && one.light == light) {
            return one;
        }
    }
    FAIL("no such class");
    return all.front();
}

}  // namespace

TEST_CASE("Slow tracks and quick main roads are told apart, although every journey has both") {
    std::mt19937 random{4};
    MESSAGE("seed 4");
    const auto all = calibrations_by_class(journeys(300, 1.6, 0.9, random));
    CHECK(of(all, "track").time_factor.value() == doctest::Approx(1.6).epsilon(0.04));
    CHECK(of(all, "primary").time_factor.value() == doctest::Approx(0.9).epsilon(0.04));
    CHECK(of(all, "track").is_offered);
    CHECK(of(all, "primary").is_offered);
    // the truth lies within three standard errors
    CHECK(std::abs(of(all, "track").time_factor.value() - 1.6) <
          3 * of(all, "track").error.value());
}

TEST_CASE("One journey in ten that broke down on the way changes little") {
    std::mt19937 random{5};
    MESSAGE("seed 5");
    auto ways = journeys(200, 1.3, 1.3, random);
    for (std::size_t i = 0; i < ways.size(); i += 10) {
        ways[i].took_s *= 6;
    }
    const auto all = calibrations_by_class(ways);
    CHECK(of(all, "track").time_factor.value() == doctest::Approx(1.3).epsilon(0.06));
    CHECK(of(all, "primary").time_factor.value() == doctest::Approx(1.3).epsilon(0.06));
}

TEST_CASE("Where the table is right nothing is offered, however many journeys there are") {
    std::mt19937 random{6};
    MESSAGE("seed 6");
    int offered = 0;
    for (int round = 0; round < 40; ++round) {
        for (const ClassCalibration& one : calibrations_by_class(journeys(100, 1, 1, random))) {
            offered += one.is_offered ? 1 : 0;
        }
    }
    CHECK(offered <= 10);  // two standard errors: about one in twenty of 80
}

TEST_CASE("Four journeys tell nothing, nineteen tell how it was, and only twenty offer a change") {
    std::mt19937 random{7};
    MESSAGE("seed 7");
    CHECK_FALSE(of(calibrations_by_class(journeys(4, 2, 2, random)), "track").time_factor);
    const auto nineteen = calibrations_by_class(journeys(19, 2, 2, random));
    CHECK(of(nineteen, "track").time_factor.has_value());
    CHECK_FALSE(of(nineteen, "track").is_offered);
    CHECK(of(calibrations_by_class(journeys(20, 2, 2, random)), "track").is_offered);
    CHECK(calibrations_by_class({}).empty());
}

TEST_CASE("A road that few journeys saw follows the others, and the wet says nothing of the dry") {
    std::mt19937 random{8};
    MESSAGE("seed 8");
    auto ways = journeys(100, 1.5, 1.5, random);
    ways.push_back({dry, {{"path", 3600}}, 0, 3600 * 9});
    const auto more = journeys(50, 1, 1, random, wet);
    ways.insert(ways.end(), more.begin(), more.end());
    const auto all = calibrations_by_class(ways);
    CHECK(of(all, "path").journeys == 1);
    CHECK_FALSE(of(all, "path").time_factor.has_value());
    CHECK(of(all, "track").time_factor.value() == doctest::Approx(1.5).epsilon(0.05));
    CHECK(of(all, "track", wet).time_factor.value() == doctest::Approx(1).epsilon(0.05));
}

TEST_CASE("Without anything far off the factors are those of least squares, found by trying all") {
    // five journeys of each class alone: (5 × ratio + 5 × median) / 10 by the normal equations, and
    // a grid of a thousandth confirms the least sum
    std::vector<ObservedWay> ways;
    for (int i = 0; i < 5; ++i) {
        ways.push_back({dry, {{"track", 3600}}, 0, 3600 * 1.2});
        ways.push_back({dry, {{"primary", 3600}}, 0, 3600 * 1.2 * (i == 0 ? 1.001 : 1)});
    }
    const auto all = calibrations_by_class(ways);
    CHECK(of(all, "track").time_factor.value() == doctest::Approx(1.2).epsilon(1e-4));
    double best = 0;
    double least = 1e9;
    for (int step = 1100; step <= 1300; ++step) {
        const double factor = step / 1000.0;
        double sum = 5 * (factor - 1.2) * (factor - 1.2);
        for (const ObservedWay& way : ways) {
            const double off = way.took_s / 3600 - factor;
            sum += way.by_class.contains("track") ? off * off : 0;
        }
        if (sum < least) {
            least = sum;
            best = factor;
        }
    }
    CHECK(of(all, "track").time_factor.value() == doctest::Approx(best).epsilon(1e-3));
}

TEST_CASE("With enough journeys by day and at night, the night has a factor of its own") {
    constexpr auto day = routing::Light::day;
    constexpr auto night = routing::Light::night;
    std::mt19937 random{9};
    MESSAGE("seed 9");
    auto ways = journeys(150, 1.2, 1.0, random, dry, day);
    const auto dark = journeys(150, 2.0, 1.3, random, dry, night);
    ways.insert(ways.end(), dark.begin(), dark.end());
    const auto rain = journeys(60, 1.7, 1.7, random, wet, day);
    ways.insert(ways.end(), rain.begin(), rain.end());
    const auto all = calibrations_by_class(ways);
    const auto told = [&](const char* road, routing::Light light, double truth) {
        const ClassCalibration& one = of(all, road, dry, light);
        CHECK(one.journeys >= 140);
        CHECK(one.time_factor.value() == doctest::Approx(truth).epsilon(0.05));
    };
    told("track", day, 1.2);
    told("track", night, 2.0);
    told("primary", day, 1.0);
    told("primary", night, 1.3);
    CHECK(of(all, "track", dry, night).is_offered);
    CHECK_FALSE(of(all, "primary", dry, day).is_offered);
    // of the wet nobody travelled at night, so it has one factor and says so by having no light
    CHECK(of(all, "track", wet).time_factor.value() == doctest::Approx(1.7).epsilon(0.05));
    CHECK(all.size() == 6);
}

TEST_CASE("Nineteen journeys at night are too few to tell it apart, and twenty are enough") {
    const auto on_tracks = [](int count, double ratio, routing::Light light) {
        return std::vector<ObservedWay>(
            static_cast<std::size_t>(count),
            ObservedWay{dry, {{"track", 3600}}, 0, 3600 * ratio, light});
    };
    auto ways = on_tracks(20, 1.2, routing::Light::day);
    const auto dark = on_tracks(19, 1.8, routing::Light::night);
    ways.insert(ways.end(), dark.begin(), dark.end());
    const auto few = calibrations_by_class(ways);
    REQUIRE(few.size() == 1);
    CHECK_FALSE(few[0].light.has_value());
    CHECK(few[0].journeys == 39);
    ways.push_back(dark.front());
    const auto enough = calibrations_by_class(ways);
    REQUIRE(enough.size() == 2);
    // by hand: twenty journeys and one as the median of all (1.8), by day (20 × 1.2 + 1.8) / 21
    CHECK(of(enough, "track", dry, routing::Light::day).time_factor.value() ==
          doctest::Approx((20 * 1.2 + 1.8) / 21).epsilon(1e-9));
    CHECK(of(enough, "track", dry, routing::Light::night).time_factor.value() ==
          doctest::Approx(1.8).epsilon(1e-9));
    CHECK(of(enough, "track", dry, routing::Light::night).journeys == 20);
}
