#include "dispatch/district_year.hpp"

#include <doctest/doctest.h>

#include "tests/dispatch/dispatch_district.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

const CapabilitySet theatre{Capability::operative_delivery};
constexpr Seconds year = 365 * 24h;

/// The village V, the hospital H 30 minutes away, another hospital K 40 minutes on the other side.
DrawnDistrict village_between(CapabilitySet nearer = theatre) {
    DrawnDistrict district(tests::ascii_district(std::string("K") + std::string(39, '-') + "V" +
                                                 std::string(29, '-') + "H"));
    district.place('V', {}).place('H', nearer).place('K', theatre);
    return district;
}

Complication needs_theatre(Seconds within) {
    return {"labour", 1, [within](Instant at) {
                triage::Assessment assessment;
                assessment.assessed_at = at;
                triage::Need need = critical_need(theatre, within);
                need.deadline = at + within;
                assessment.needs = {need};
                assessment.refer = true;
                return assessment;
            }};
}

/// Every birth goes wrong, so that the births are the calls.
YearSettings every_birth(Seconds length, std::uint64_t seed = 1) {
    YearSettings settings;
    settings.from = ten;
    settings.until = ten + length;
    settings.seed = seed;
    settings.complications_per_birth = 1;
    settings.places_can_fail = false;
    return settings;
}

std::vector<BirthPlace> births(DrawnDistrict& district, double per_year) {
    return {{district.woman_at('V', {}).at, per_year}};
}

/// `count` vehicles at the hospital.
std::vector<Vehicle> vehicles(std::size_t count) {
    std::vector<Vehicle> all;
    for (std::size_t number = 1; number <= count; ++number) {
        all.push_back(DrawnDistrict::vehicle("car-" + std::to_string(number), 'H', Means::car));
    }
    return all;
}

SimulatedYear simulated(DrawnDistrict& district, const std::vector<Vehicle>& with,
                        YearSettings settings, double births_per_year = 4000,
                        SendingPolicy policy = SendingPolicy::one_plan) {
    settings.policy = policy;
    const auto places = births(district, births_per_year);
    const std::vector<Complication> kinds{needs_theatre(2h)};
    return simulate_year(district.situation(), places, kinds, with, settings);
}

double share_in_time(const SimulatedYear& year_of) {
    return figures_of(year_of).share_in_time.mean;
}

}  // namespace

TEST_CASE("One vehicle, one village: every trip worked out by hand, one after the other") {
    auto district = village_between();
    for (const SendingPolicy policy :
         {SendingPolicy::each_by_itself, SendingPolicy::nearest_free}) {
        CAPTURE(to_name(policy));
        const SimulatedYear result =
            simulated(district, vehicles(1), every_birth(30 * 24h), 4000, policy);
        REQUIRE(result.women.size() > 200);
        // 30 minutes to her, 30 back to the hospital, its base: away for an hour each time.
        Instant is_free = ten;
        for (const SimulatedWoman& woman : result.women) {
            const Instant sent = std::max(is_free, woman.at);
            REQUIRE(woman.is_carried);
            CHECK(*woman.until_with_her == sent + 30min - woman.at);
            CHECK(*woman.until_care == sent + 1h - woman.at);
            CHECK(woman.is_in_time == (sent + 1h <= woman.at + 2h));
            is_free = sent + 1h;
        }
        CHECK(result.trips == std::vector<std::size_t>{result.women.size()});
    }
}

TEST_CASE("One plan for all leaves less lateness than serving women in the order of their calls") {
    auto district = village_between();
    const auto places = births(district, 5000);
    const std::vector<Complication> kinds{needs_theatre(70min), needs_theatre(6h)};
    const auto year_of = [&](SendingPolicy policy) {
        YearSettings settings = every_birth(60 * 24h);
        settings.policy = policy;
        return simulate_year(district.situation(), places, kinds, vehicles(1), settings);
    };
    const auto in_order = year_of(SendingPolicy::each_by_itself);
    const auto planned = year_of(SendingPolicy::one_plan);
    CHECK(figures_of(planned).lateness.mean < figures_of(in_order).lateness.mean);
    CHECK(difference_of(in_order, planned).share_in_time.mean > 0);
}

TEST_CASE("With one vehicle women wait as long as queueing theory says of M/D/1") {
    auto district = village_between();
    YearSettings settings = every_birth(3 * year);
    settings.given_up_after = 30 * 24h;
    const SimulatedYear result =
        simulated(district, vehicles(1), settings, 4000, SendingPolicy::nearest_free);
    // Pollaczek and Khinchine: ρ · s / (2 (1 − ρ)), with s = 1 h and ρ = 4000 / 8760 (from memory
    // of any textbook of queueing theory).
    const double load = 4000.0 / 8760;
    const double expected = load * 60 / (2 * (1 - load));
    Estimate95 waited = *figures_of(result).with_her_minutes;
    waited.mean -= 30;
    CAPTURE(waited.mean);
    CAPTURE(waited.half_width);
    CHECK(waited.contains(expected));
    CHECK(waited.half_width < expected / 5);
    CHECK(result.use.front() == doctest::Approx(load).epsilon(0.03));
}

TEST_CASE("The same seed gives the same year; every policy meets the same women") {
    auto district = village_between();
    const auto one = simulated(district, vehicles(2), every_birth(20 * 24h, 5));
    CHECK(one == simulated(district, vehicles(2), every_birth(20 * 24h, 5)));
    CHECK_FALSE(one == simulated(district, vehicles(2), every_birth(20 * 24h, 6)));
    const auto other = simulated(district, vehicles(1), every_birth(20 * 24h, 5), 4000,
                                 SendingPolicy::nearest_free);
    const YearDifference differs = difference_of(one, other);
    CHECK(differs.share_in_time.mean ==
          doctest::Approx(share_in_time(other) - share_in_time(one)).epsilon(0.05));
    CHECK_THROWS_AS(difference_of(one, simulated(district, vehicles(2), every_birth(20 * 24h, 6))),
                    InputError);
}

TEST_CASE("More vehicles leave fewer women late") {
    auto district = village_between();
    double before = 0;
    for (const std::size_t count : {1U, 2U, 4U}) {
        const double share =
            share_in_time(simulated(district, vehicles(count), every_birth(60 * 24h), 12000));
        CHECK(share > before);
        before = share;
    }
    CHECK(before > 0.95);
}

TEST_CASE("Ways take as long as their spread says, and the planner's chances hold true") {
    auto drawn = tests::ascii_district(std::string("V") + std::string(79, '-') + "H").spread(100s);
    DrawnDistrict district(drawn);
    district.place('V', {}).place('H', theatre);
    const auto places = births(district, 2000);
    // 80 minutes to her and 80 to the hospital, typically: about half are there after 165 minutes.
    const std::vector<Complication> kinds{needs_theatre(165min)};
    YearSettings settings = every_birth(year);
    settings.places_can_fail = true;
    settings.phones_ahead = false;
    const SimulatedYear result =
        simulate_year(district.situation(), places, kinds, vehicles(20), settings);
    const YearFigures figures = figures_of(result);
    CAPTURE(figures.share_in_time.mean);
    CAPTURE(figures.expected_share_in_time.mean);
    CHECK(figures.share_in_time.mean > 0.4);
    CHECK(figures.share_in_time.mean < 0.8);
    CHECK(figures.share_in_time.mean ==
          doctest::Approx(figures.expected_share_in_time.mean).epsilon(0.08));
}

TEST_CASE("Whoever phones ahead finds out that a place is not ready; who does not drives there") {
    // The nearer hospital was heard of a month ago: often it is not ready.
    auto district = village_between();
    DispatchSituation situation = district.situation();
    const auto places = births(district, 1000);
    const std::vector<Complication> kinds{needs_theatre(2h)};
    YearSettings settings = every_birth(60 * 24h);
    settings.from = ten + 30 * 24h;
    settings.until = settings.from + 60 * 24h;
    settings.places_can_fail = true;
    const auto phoned = simulate_year(situation, places, kinds, vehicles(5), settings);
    settings.phones_ahead = false;
    const auto drove = simulate_year(situation, places, kinds, vehicles(5), settings);
    CHECK(figures_of(phoned).places_in_vain == 0);
    const YearFigures figures = figures_of(drove);
    // Staff is there four times in five in the long run (facilities/shelf_life.hpp).
    CHECK(static_cast<double>(figures.places_in_vain) / static_cast<double>(drove.women.size()) ==
          doctest::Approx(0.2).epsilon(0.4));
    CHECK(difference_of(drove, phoned).share_in_time.mean > 0);
}

TEST_CASE("A vehicle that does not start is not there for a day") {
    auto district = village_between();
    YearSettings settings = every_birth(60 * 24h);
    const double all_start = share_in_time(simulated(district, vehicles(2), settings, 2000));
    settings.does_not_start_share = 0.2;
    CHECK(share_in_time(simulated(district, vehicles(2), settings, 2000)) < all_start);
}

TEST_CASE("Her own transport needs no vehicle; without any nobody comes and it is said") {
    auto district = village_between();
    YearSettings settings = every_birth(60 * 24h);
    const auto nobody = simulated(district, {}, settings, 2000);
    CHECK(figures_of(nobody).never_carried == nobody.women.size());
    CHECK(share_in_time(nobody) == 0);
    CHECK_FALSE(figures_of(nobody).care_minutes.has_value());
    settings.own_transport_share = 1;
    const auto own = simulated(district, {}, settings, 2000);
    CHECK(figures_of(own).never_carried == 0);
    // The assumed half hour before she leaves, and the way of 30 minutes.
    CHECK(figures_of(own).care_minutes->mean == doctest::Approx(60));
}

TEST_CASE("What cannot be simulated is refused") {
    auto district = village_between();
    YearSettings settings = every_birth(24h);
    settings.until = settings.from;
    CHECK_THROWS_AS(simulated(district, {}, settings), InputError);
    settings = every_birth(24h);
    settings.own_transport_share = 1.5;
    CHECK_THROWS_AS(simulated(district, {}, settings), InputError);
    const std::vector<BirthPlace> places = births(district, 1000);
    CHECK_THROWS_AS(simulate_year(district.situation(), places, {}, {}, every_birth(24h)),
                    InputError);
}

}  // namespace waybourne::dispatch
