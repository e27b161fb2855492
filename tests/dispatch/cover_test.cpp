#include "dispatch/cover.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

/// Weights 50, 30, 20; the first vehicle reaches zones 1 and 2, the second 1, the third 2 and 3.
struct ThreeZones {
    std::array<Zone, 3> zones{Zone{"one", 50}, Zone{"two", 30}, Zone{"three", 20}};
    ReachTable table{3, 3};
    std::array<std::size_t, 3> all{0, 1, 2};
    ThreeZones() {
        table.set(0, 0);
        table.set(1, 0);
        table.set(0, 1);
        table.set(1, 2);
        table.set(2, 2);
    }
};

constexpr double busy = 0.4;

/// P(a free vehicle is found at the (j+1)-th try) of p vehicles in random order, from the queue
/// M/M/p with p·q calls under way: given n busy, the first j tried are busy and the next is free.
double by_the_queue(std::size_t servers, double q, std::size_t tried) {
    const auto p = static_cast<double>(servers);
    std::vector<double> chance{1};
    for (std::size_t n = 1; n < servers; ++n) {
        chance.push_back(chance.back() * p * q / static_cast<double>(n));
    }
    double total = chance.back() * q / (1 - q);  // all busy: with p and more in the queue
    for (const double one : chance) {
        total += one;
    }
    double found = 0;
    for (std::size_t n = tried; n < servers; ++n) {
        double one = chance[n] / total;
        for (std::size_t i = 0; i < tried; ++i) {
            one *= (static_cast<double>(n) - static_cast<double>(i)) / (p - static_cast<double>(i));
        }
        found += one * (p - static_cast<double>(n)) / (p - static_cast<double>(tried));
    }
    return found;
}

}  // namespace

TEST_CASE("What remains covered when each of three vehicles leaves") {
    // Worked by hand from Daskin's formula: 50·0.84 + 30·0.84 + 20·0.6 = 79.2; without the first
    // 60.0, without the second 67.2, without the third 60.0.
    const ThreeZones given;
    CHECK(expected_cover(given.zones, given.table, given.all, busy) == doctest::Approx(79.2));
    const auto costs = [&](std::size_t vehicle) {
        return cost_of_sending(given.zones, given.table, given.all, vehicle, busy);
    };
    CHECK(costs(0) == doctest::Approx(19.2));
    CHECK(costs(1) == doctest::Approx(12.0));  // the one to send to zone one
    CHECK(costs(2) == doctest::Approx(19.2));
}

TEST_CASE("The tiny district: two units at B and C cover 90, three 110.4, four 126") {
    // Births 40, 30, 30, 25, 25, 10; within 60 minutes of A: 2, 3, 4; of B: 1, 2; of C: 3, 4, 5; of
    // D: 6. MEXCLP with q = 0.4, by brute force and by hand; common practice, no source.
    const std::array<Zone, 6> births{Zone{"1", 40}, Zone{"2", 30}, Zone{"3", 30},
                                     Zone{"4", 25}, Zone{"5", 25}, Zone{"6", 10}};
    const auto cover = [&](const std::vector<char>& bases) {
        ReachTable table(births.size(), bases.size());
        std::vector<std::size_t> idle;
        for (std::size_t unit = 0; unit < bases.size(); ++unit) {
            idle.push_back(unit);
            const std::vector<std::size_t> reached =
                bases[unit] == 'A'   ? std::vector<std::size_t>{1, 2, 3}
                : bases[unit] == 'B' ? std::vector<std::size_t>{0, 1}
                                     : std::vector<std::size_t>{2, 3, 4};
            for (const std::size_t zone : reached) {
                table.set(zone, unit);
            }
        }
        return expected_cover(births, table, idle, busy);
    };
    CHECK(cover({'B', 'C'}) == doctest::Approx(90));
    CHECK(cover({'A', 'B', 'C'}) == doctest::Approx(110.4));
    CHECK(cover({'B', 'B', 'C', 'C'}) == doctest::Approx(126));
}

TEST_CASE("Larson's correction is what the queue with shared vehicles gives") {
    int compared = 0;
    for (std::size_t servers = 1; servers <= 12; ++servers) {
        for (std::size_t tried = 0; tried < servers; ++tried) {
            for (const double q : {0.05, 0.2, 0.4, 0.6, 0.9}) {
                CAPTURE(servers);
                CAPTURE(tried);
                CAPTURE(q);
                const double independent = (1 - q) * std::pow(q, static_cast<double>(tried));
                CHECK(larson_correction(servers, q, tried) * independent ==
                      doctest::Approx(by_the_queue(servers, q, tried)));
                ++compared;
            }
        }
    }
    MESSAGE(compared << " corrections compared");
    // A vehicle alone is busy q of the time: nothing to correct. With more, the first one tried is
    // as often free as each of them.
    CHECK(larson_correction(1, 0.4, 0) == doctest::Approx(1));
    CHECK(larson_correction(5, 0.4, 0) == doctest::Approx(1));
}

TEST_CASE("A vehicle that is free waits where it adds most") {
    const ThreeZones given;
    ReachTable bases(3, 2);  // the first base reaches zone one, the second zones two and three
    bases.set(0, 0);
    bases.set(1, 1);
    bases.set(2, 1);
    const std::array<std::size_t, 2> others{0, 1};
    // Zone one is reached by both others: 50·0.6·0.16 = 4.8; zone two by one, three by none:
    // 30·0.6·0.4 + 20·0.6 = 19.2.
    const auto place = where_to_wait(given.zones, bases, given.table, others, busy);
    REQUIRE(place.has_value());
    CHECK(place->base == 1);
    CHECK(place->gains == doctest::Approx(19.2));
    CHECK(where_to_wait(given.zones, ReachTable(3, 0), given.table, others, busy) == std::nullopt);
}

TEST_CASE("The dispatcher is warned before the last vehicle leaves an area") {
    const ThreeZones given;
    const std::array<std::size_t, 1> third{2};
    const auto report = cover_report(given.zones, given.table, given.all, third, busy);
    CHECK(report.share_after == doctest::Approx(0.60));
    // Without the third, 79.2 of 100 become 60 of 100, and nobody reaches zone three.
    REQUIRE(report.messages.size() == 3);
    CHECK(report.messages[0] ==
          Message{"dispatch.cover_now", {{"percent", "60"}, {"before", "79"}}});
    CHECK(report.messages[1] == Message{"dispatch.last_vehicle_leaves", {{"area", "three"}}});
    CHECK(report.messages[2] ==
          Message{"dispatch.weakest_area", {{"area", "three"}, {"count", "0"}}});
    const std::array<std::size_t, 1> second{1};
    CHECK(cover_report(given.zones, given.table, given.all, second, busy).messages.size() == 2);
}

TEST_CASE("The busy share of the example district is 0.40 with three vehicles") {
    // 7.19 complications a day of four hours each: 7.19 / 24 · 4 / 3 = 0.3995.
    CHECK(busy_share(7.19 / 24, 4, 3) == doctest::Approx(0.40).epsilon(0.01));
    CHECK(busy_share(100, 4, 1) == 0.95);
    CHECK_THROWS_AS(busy_share(1, 1, 0), InputError);
}

TEST_CASE("No vehicle covers nobody, and shares outside the possible are refused") {
    const ThreeZones given;
    CHECK(expected_cover(given.zones, given.table, {}, busy) == 0);
    CHECK_THROWS_AS(chance_one_is_free(1, 1, 1.0, BusyModel::independent), InputError);
    CHECK_THROWS_AS(chance_one_is_free(2, 1, 0.5, BusyModel::independent), InputError);
    CHECK_THROWS_AS(larson_correction(2, 0.5, 2), InputError);
    CHECK(cover_report({}, ReachTable(0, 0), {}, {}, busy).messages.empty());
}

}  // namespace waybourne::dispatch
