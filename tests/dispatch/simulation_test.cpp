#include "dispatch/simulation.hpp"

#include <doctest/doctest.h>

#include <array>

#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

const Instant start = parse_rfc3339("2026-01-01T00:00:00Z");
constexpr Seconds year = 365 * 24h;
constexpr Seconds mean_mission = 4h;

/// The first free vehicle is away for a random time.
Policy first_free(RandomSource& random) {
    return first_come_first_served(
        [&random](const SimulatedCall&, Instant,
                  const std::vector<bool>& is_free) -> std::optional<SentVehicle> {
            for (std::size_t vehicle = 0; vehicle < is_free.size(); ++vehicle) {
                if (is_free[vehicle]) {
                    return SentVehicle{vehicle, 1h, random.exponential(mean_mission), true};
                }
            }
            return std::nullopt;
        });
}

/// @param load calls per mean mission
std::vector<SimulatedCall> calls_of(double load, int years, RandomSource& random) {
    const double per_year = load * static_cast<double>(year / mean_mission);
    return random_calls(std::array{1.0}, per_year, start, start + years * year, random);
}

}  // namespace

TEST_CASE("Erlang's formulas give the figures of the example district") {
    // Load 7.19 · 4 / 24 = 1.199: with 2, 3, 4 vehicles 24.6 %, 9.0 %, 2.6 % of calls are lost
    // (computed beside the example; common practice, no source).
    CHECK(erlang_b(2, 1.199) == doctest::Approx(0.246).epsilon(0.01));
    CHECK(erlang_b(3, 1.199) == doctest::Approx(0.090).epsilon(0.01));
    CHECK(erlang_b(4, 1.199) == doctest::Approx(0.026).epsilon(0.02));
    CHECK(erlang_c(1, 0.5) == doctest::Approx(0.5));  // M/M/1: as often as it is busy
    CHECK_THROWS_AS(erlang_c(2, 2.0), InputError);
}

TEST_CASE("Calls that find nobody free are lost as often as Erlang B says") {
    for (const std::size_t vehicles : {2U, 3U, 4U}) {
        CAPTURE(vehicles);
        RandomSource random(vehicles);
        const auto calls = calls_of(1.199, 40, random);
        const auto result =
            simulate(calls, vehicles, first_free(random), WhenNobodyIsFree::is_lost);
        const double lost = static_cast<double>(result.lost) / static_cast<double>(result.calls);
        CHECK(result.calls > 90'000);
        // Three standard errors of so many calls, doubled since they hang together.
        CHECK(lost == doctest::Approx(erlang_b(vehicles, 1.199)).epsilon(0.05));
    }
}

TEST_CASE("Calls that wait do so as often and as long as Erlang C says") {
    RandomSource random(7);
    constexpr std::size_t vehicles = 3;
    constexpr double load = 1.8;
    const auto calls = calls_of(load, 40, random);
    const auto result = simulate(calls, vehicles, first_free(random), WhenNobodyIsFree::waits);
    REQUIRE(result.lost == 0);
    REQUIRE(result.waited_s.size() == calls.size());
    const Estimate95 waited = batch_means(result.waited_s);
    // Mean wait: C · mean mission / (c − load).
    const double expected =
        erlang_c(vehicles, load) * static_cast<double>(mean_mission.count()) / (vehicles - load);
    CHECK(waited.contains(expected));
    CHECK(waited.half_width < expected / 10);
    double busy = 0;
    for (const double use : result.use) {
        busy += use;
    }
    CHECK(busy == doctest::Approx(load).epsilon(0.02));
}

TEST_CASE("A day worked out by hand") {
    // One vehicle, away two hours each time, care one hour after it is sent; calls at 8, 9 and 13.
    const std::array calls{SimulatedCall{start + 8h, 0}, SimulatedCall{start + 9h, 1},
                           SimulatedCall{start + 13h, 0}};
    const Policy policy =
        first_come_first_served([](const SimulatedCall& call, Instant now,
                                   const std::vector<bool>& is_free) -> std::optional<SentVehicle> {
            if (!is_free[0]) {
                return std::nullopt;
            }
            return SentVehicle{0, 1h, 2h, now + 1h <= call.at + 90min};
        });
    const auto waits = simulate(calls, 1, policy, WhenNobodyIsFree::waits);
    CHECK(waits.waited_s == std::vector<double>{0, 3600, 0});  // the second from 9 to 10
    CHECK(waits.until_care_s == std::vector<double>{3600, 7200, 3600});
    CHECK(waits.in_time == std::vector<double>{1, 0, 1});
    CHECK(waits.use.front() == doctest::Approx(6.0 / 5));  // three trips; from the first call on
    const auto lost = simulate(calls, 1, policy, WhenNobodyIsFree::is_lost);
    CHECK(lost.lost == 1);
    CHECK(lost.waited_s == std::vector<double>{0, 0});
}

TEST_CASE("The same seed gives the same year, another seed another") {
    const auto year_of = [](std::uint64_t seed) {
        RandomSource random(seed);
        const auto calls = calls_of(1.2, 1, random);
        return simulate(calls, 3, first_free(random), WhenNobodyIsFree::waits);
    };
    CHECK(year_of(1) == year_of(1));
    CHECK_FALSE(year_of(1) == year_of(2));
}

TEST_CASE("Calls come from each place by its weight, and impossible rates are refused") {
    RandomSource random(3);
    const auto calls = random_calls(std::array{1.0, 0.0, 3.0}, 20'000, start, start + year, random);
    std::array<double, 3> share{};
    for (const SimulatedCall& call : calls) {
        share.at(call.place) += 1 / static_cast<double>(calls.size());
    }
    CHECK(static_cast<double>(calls.size()) == doctest::Approx(20'000).epsilon(0.03));
    CHECK(share[0] == doctest::Approx(0.25).epsilon(0.05));
    CHECK(share[1] == 0);
    CHECK_THROWS_AS(random_calls(std::array{0.0}, 1, start, start + year, random), InputError);
    CHECK_THROWS_AS(random_calls(std::array{1.0}, 0, start, start + year, random), InputError);
    CHECK_THROWS_AS(batch_means(std::array{1.0}), InputError);
}

TEST_CASE("Progress is told") {
    RandomSource random(3);
    const auto calls = calls_of(1.2, 1, random);
    double last = -1;
    int told = 0;
    simulate(calls, 3, first_free(random), WhenNobodyIsFree::waits,
             [&](std::string_view, double share) {
                 CHECK(share >= last);
                 last = share;
                 ++told;
             });
    CHECK(told > 10);
    CHECK(last == 1);
}

}  // namespace waybourne::dispatch
