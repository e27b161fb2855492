#include "coverage/access.hpp"

#include <doctest/doctest.h>

#include "tests/coverage/small_district.hpp"

using namespace waybourne;
using namespace waybourne::coverage;
using facilities::FacilityRegister;

namespace {

std::vector<AccessClass> classes(const std::vector<SettlementAccess>& accesses) {
    std::vector<AccessClass> all;
    for (const SettlementAccess& one : accesses) {
        all.push_back(one.access);
    }
    return all;
}

/// Four villages with 400, 300, 200 and 100 births, 20, 40, 60 and 150 minutes from the hospital:
/// our own numbers, worked by hand.
const std::vector<Settlement> four_villages{settlement("near", 400), settlement("road", 300),
                                            settlement("hill", 200), settlement("far", 100)};
const std::vector<std::vector<int>> to_the_hospital{{20}, {40}, {60}, {150}};
const FacilityRegister one_hospital{{place_offering("hospital", {caesarean})}};

double share_within(Seconds standard) {
    CareClock clock = clock_of(to_the_hospital, one_hospital);
    const auto accesses = access(clock, {{caesarean}, standard});
    return total(four_villages, accesses, standard).at_least().value();
}

}  // namespace

TEST_CASE("A village exactly at the limit counts as in time, a minute less does not") {
    // by hand: 400 of 1000; 400 + 300 + 200; the same up to two hours; all; all but the last
    CHECK(share_within(30min) == doctest::Approx(0.40));
    CHECK(share_within(60min) == doctest::Approx(0.90));
    CHECK(share_within(120min) == doctest::Approx(0.90));
    CHECK(share_within(150min) == doctest::Approx(1.00));
    CHECK(share_within(149min) == doctest::Approx(0.90));
}

TEST_CASE("The whole curve from 0 to 360 minutes is told, not one cut-off") {
    CareClock clock = clock_of(to_the_hospital, one_hospital);
    const auto points = curve(four_villages, access(clock, {{caesarean}, 2h}));
    REQUIRE(points.size() == 25);
    CHECK(points[0].at_least == 0);
    CHECK(points[2].standard == 30min);
    CHECK(points[2].at_least == doctest::Approx(0.40));
    CHECK(points[10].standard == 150min);
    CHECK(points[10].at_least == doctest::Approx(1.00));
    CHECK(curve({}, {}).empty());
}

TEST_CASE("Drive time is not time to care: the handover comes on top, and both are told") {
    // 20 + 11 and 40 + 11 are within an hour, 60 + 11 is not though its way is
    CareClock clock =
        clock_of(to_the_hospital, one_hospital, ReadinessAssumption::as_registered, {0s, 11min});
    const auto accesses = access(clock, {{caesarean}, 1h});
    const AccessTotal sum = total(four_villages, accesses, 1h);
    CHECK(sum.in_time == 700);
    CHECK(sum.way_in_time == 900);
    CHECK(accesses[2].way->typical == 60min);
    CHECK(accesses[2].care->typical == 71min);
}

TEST_CASE("Four classes make up the whole: in time, beyond, no route, unknown") {
    const FacilityRegister places = FacilityRegister{
        {place_offering("confirmed", {caesarean}),
         place_offering("unheard",
                        {caesarean})}}.with(heard("confirmed", caesarean, true));
    // the second place has not been heard of: it may or may not be ready
    CareClock clock = clock_of({{30, 20}, {90, 200}, {no_way, no_way}, {90, 20}, {no_way, 200}},
                               places, ReadinessAssumption::as_reported);
    const std::vector<Settlement> settlements{settlement("a", 10), settlement("b", 20),
                                              settlement("c", 40), settlement("d", 80),
                                              settlement("e", 160)};
    const auto accesses = access(clock, {{caesarean}, 1h});
    CHECK(classes(accesses) == std::vector{AccessClass::in_time, AccessClass::beyond,
                                           AccessClass::no_route, AccessClass::unknown,
                                           AccessClass::beyond});
    const AccessTotal sum = total(settlements, accesses, 1h);
    CHECK(sum.births == sum.in_time + sum.beyond + sum.no_route + sum.unknown);
    CHECK(sum.at_least().value() == doctest::Approx(10.0 / 310));
    CHECK(sum.at_most().value() == doctest::Approx(90.0 / 310));
    SUBCASE("what is known to be ready is never farther than what may be") {
        CHECK(accesses[0].place == 0U);
        CHECK(accesses[0].place_at_best == 1U);
        CHECK(accesses[3].care->allow == 90min);
        CHECK(accesses[3].care_at_best->allow == 20min);
    }
}

TEST_CASE("A settlement far from any road is unknown, not without access") {
    CareClock clock = clock_of({{no_way}, {20}}, one_hospital);
    CHECK(classes(access(clock, {{caesarean}, 1h}, {false, true})) ==
          std::vector{AccessClass::unknown, AccessClass::in_time});
}

TEST_CASE("A way to a theatre that is reported shut is beyond, which is not the same as no way") {
    const FacilityRegister shut = one_hospital.with(heard("hospital", caesarean, false));
    CareClock clock = clock_of({{20}, {no_way}}, shut, ReadinessAssumption::as_reported);
    CHECK(classes(access(clock, {{caesarean}, 1h})) ==
          std::vector{AccessClass::beyond, AccessClass::no_route});
}

TEST_CASE("A theatre without blood covers nobody who needs both") {
    const FacilityRegister places{
        {place_offering("blood-bank", {blood}), place_offering("theatre", {caesarean})}};
    CareClock clock = clock_of({{10, 10}}, places);
    CHECK(access(clock, {{caesarean}, 1h})[0].access == AccessClass::in_time);
    CHECK(access(clock, {{blood}, 1h})[0].access == AccessClass::in_time);
    CHECK(access(clock, {{caesarean, blood}, 1h})[0].access == AccessClass::no_route);
}

TEST_CASE("By the hour of the week a clinic that opens at eight makes her wait until eight") {
    facilities::Facility clinic = place_offering("clinic", {blood});
    clinic.hours = facilities::parse_opening_hours("Mo-Fr 08:00-16:00");
    const FacilityRegister places{{clinic}};
    const Instant six = parse_rfc3339("2026-03-04T06:00:00Z");
    const auto care_of = [&](ReadinessAssumption assumption, Instant at) {
        CareClock clock = clock_of({{30}}, places, assumption, {0s, 0s}, at);
        return clock.care(0, 0, {blood});
    };
    CHECK(care_of(ReadinessAssumption::as_registered, six).begins->allow == 30min);
    CHECK(care_of(ReadinessAssumption::by_hour, six).begins->allow == 2h);
    CHECK(care_of(ReadinessAssumption::by_hour, six + 3h).begins->allow == 30min);
    SUBCASE("nobody has heard of it, so as reported it is unknown") {
        CHECK(care_of(ReadinessAssumption::as_reported, six + 3h).ready == Known::unknown);
    }
    SUBCASE("a clinic whose hours nobody knows is unknown at any hour") {
        clinic.hours = std::nullopt;
        CareClock clock = clock_of({{30}}, FacilityRegister{{clinic}}, ReadinessAssumption::by_hour,
                                   {0s, 0s}, six);
        CHECK(clock.care(0, 0, {blood}).ready == Known::unknown);
    }
}

TEST_CASE("What women would bring to each place is held against what it can take") {
    const FacilityRegister places{
        {place_offering("big", {caesarean}), place_offering("small", {caesarean})}};
    CareClock clock = clock_of({{20, 50}, {40, 10}, {300, 200}, {no_way, no_way}}, places);
    const auto accesses = access(clock, {{caesarean}, 1h});
    const std::vector<std::optional<double>> capacity{1000, 400};
    const auto all = loads(four_villages, accesses, 2, capacity);
    // by hand: near goes to the first place; road and hill to the second, hill too late; far
    // nowhere
    CHECK(all[0].births == 400);
    CHECK(all[0].of_capacity.value() == doctest::Approx(0.4));
    CHECK(all[1].births == 500);
    CHECK(all[1].births_in_time == 300);
    CHECK(all[1].of_capacity.value() == doctest::Approx(1.25));
    SUBCASE("double cover: two places in time for the first two villages") {
        CHECK(total(four_villages, accesses, 1h).double_cover == 700);
    }
    SUBCASE("a capacity nobody knows is not taken for none") {
        CHECK(!loads(four_villages, accesses, 2)[0].of_capacity.has_value());
    }
}

TEST_CASE("Who loses access in the wet is told by name, most births first") {
    CareClock dry = clock_of({{20}, {40}, {60}, {150}}, one_hospital);
    CareClock wet = clock_of({{20}, {70}, {no_way}, {50}}, one_hospital);
    const Loss made =
        loss(four_villages, access(dry, {{caesarean}, 1h}), access(wet, {{caesarean}, 1h}));
    CHECK(made.lost == std::vector<std::size_t>{1, 2});
    CHECK(made.births_lost == 500);
    CHECK(made.births_gained == 100);
}

TEST_CASE("By sub-district the parts add up to the whole, and those outside every one are told") {
    std::vector<Settlement> settlements = four_villages;
    settlements[0].area = AreaId("north");
    settlements[1].area = AreaId("south");
    settlements[2].area = AreaId("north");
    CareClock clock = clock_of(to_the_hospital, one_hospital);
    const auto accesses = access(clock, {{caesarean}, 1h});
    const auto areas = total_by_area(settlements, accesses, 1h);
    REQUIRE(areas.size() == 3);
    CHECK(areas[0].area.value().empty());
    CHECK(areas[0].total.in_time == 0);
    CHECK(areas[1].total.in_time == 600);
    CHECK(areas[2].total.in_time == 300);
    double births = 0;
    for (const AreaAccess& area : areas) {
        births += area.total.births;
    }
    CHECK(births == total(settlements, accesses, 1h).births);
}

TEST_CASE("A vehicle that must come first: mobilisation, the way to her, loading, the way on") {
    // by hand: base 1 is there at 15 + 20 = 35, base 2 at 5 + 40 = 45: 35 + 12 + 50
    const TravelTimes sent = vehicle_sent(
        minutes_table({{20, 40}}), std::vector<Seconds>{15min, 5min}, 12min, minutes_table({{50}}));
    CHECK(sent.at(0, 0)->typical == 97min);
    SUBCASE("no vehicle can come: no way, though a road leads there") {
        const TravelTimes none =
            vehicle_sent(minutes_table({{no_way, no_way}}), std::vector<Seconds>{15min, 5min},
                         12min, minutes_table({{50}}));
        CHECK(!none.at(0, 0).has_value());
    }
}

TEST_CASE("She walks to the post that has a vehicle, unless walking all the way is shorter") {
    // by hand: 30 on foot + 5 to board + 20 on; the other place is 25 minutes on foot
    const TravelTimes times = on_foot_first(minutes_table({{30}}), minutes_table({{20, 60}}),
                                            minutes_table({{200, 25}}), 5min);
    CHECK(times.at(0, 0)->typical == 55min);
    CHECK(times.at(0, 1)->typical == 25min);
}

TEST_CASE("Nonsense is refused: no capability, a standard below nothing, tables that do not fit") {
    CareClock clock = clock_of(to_the_hospital, one_hospital);
    CHECK_THROWS_AS(access(clock, {{}, 1h}), InputError);
    CHECK_THROWS_AS(access(clock, {{caesarean}, -1s}), InputError);
    CHECK_THROWS_AS(clock_of({{1, 2}}, one_hospital), InputError);
    TravelTimes times(1, 1);
    CHECK_THROWS_AS(times.set(0, 0, routing::TravelTime{20min, 10min}), InputError);
    CHECK(!total({}, {}, 1h).at_least().has_value());
}
