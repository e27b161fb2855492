#include "dispatch/transport_plan.hpp"

#include <doctest/doctest.h>

#include <random>

#include "tests/dispatch/dispatch_district.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

const CapabilitySet theatre{Capability::operative_delivery};

/// Two clinics A and B on the road between the depot D and the hospital H.
DrawnDistrict two_clinics() {
    DrawnDistrict district(tests::ascii_district("D----A----B---------H"));
    district.place('A', {}).place('B', {}).place('D', {}).place('H', theatre);
    return district;
}

OpenReferral woman(const DrawnDistrict& district, const std::string& id, char at, Seconds within) {
    OpenReferral referral = district.woman_at(at, {critical_need(theatre, within)});
    referral.id = ReferralId{id};
    return referral;
}

TransportPlan plan(DrawnDistrict& district, const PlanRequest& request) {
    return plan_transport(district.situation(), request);
}

}  // namespace

TEST_CASE("One vehicle and two women: the one whose deadline is near is fetched, the other waits") {
    auto district = two_clinics();
    const std::vector women{woman(district, "a", 'A', 10h), woman(district, "b", 'B', 30min)};
    const std::vector vehicles{DrawnDistrict::vehicle("car", 'D')};
    const auto made = plan(district, {women, vehicles});
    REQUIRE(made.carried.size() == 2);
    CHECK(made.carried[1].way.vehicles == std::vector{VehicleId{"car"}});
    CHECK(made.carried[1].way.care_begins.allow == ten + 20min);  // 10 to B, 10 to H
    CHECK(mentions(made.carried[0].way.against, "dispatch.nobody_can_fetch_her"));
    CHECK(made.is_optimal);
}

TEST_CASE("One plan for one woman and one vehicle is the way that is compared alone") {
    auto district = two_clinics();
    const std::vector women{woman(district, "a", 'A', 1h)};
    const std::vector vehicles{DrawnDistrict::vehicle("car", 'D', Means::car, 3min)};
    const auto made = plan(district, {women, vehicles});
    const auto ways = district.ask(women[0], vehicles);
    CHECK(made.carried[0].way.vehicles == ways[0].vehicles);
    CHECK(made.carried[0].way.care_begins == ways[0].care_begins);
    CHECK(seconds_in(made.cost) == ways[0].recommendation.chosen->last_need_after);
}

TEST_CASE("Two women ride together where both can lie and nobody's deadline suffers") {
    auto district = two_clinics();
    std::vector women{woman(district, "a", 'A', 2h), woman(district, "b", 'B', 2h)};
    auto car = DrawnDistrict::vehicle("car", 'D');
    car.seats = {2, 0};
    auto made = plan(district, {women, {&car, 1}});
    CHECK(made.carried[0].rides_with == ReferralId{"b"});
    CHECK(made.carried[1].rides_with == ReferralId{"a"});
    // 5 to A, 5 to B, 10 to H: both are there at 10:20.
    CHECK(made.carried[0].way.care_begins.allow == ten + 20min);
    CHECK(made.carried[1].way.care_begins.allow == ten + 20min);
    SUBCASE("not where one of them would be late") {
        women[0] = woman(district, "a", 'A', 16min);  // alone she is there after 15
        made = plan(district, {women, {&car, 1}});
        CHECK(made.carried[0].rides_with == std::nullopt);
        CHECK(made.carried[0].way.vehicles.size() == 1);
    }
    SUBCASE("not where only one can lie, unless the other can sit") {
        car.seats = {1, 1};
        CHECK(plan(district, {women, {&car, 1}}).carried[0].rides_with == std::nullopt);
        women[1].can_sit = true;
        CHECK(plan(district, {women, {&car, 1}}).carried[0].rides_with == ReferralId{"b"});
    }
}

TEST_CASE("A promise is kept unless changing it pays, and each change says why") {
    auto district = two_clinics();
    const std::vector women{woman(district, "a", 'A', 2h)};
    const std::vector vehicles{DrawnDistrict::vehicle("far", 'H'),
                               DrawnDistrict::vehicle("near", 'A')};
    PlanRequest request{women, vehicles};
    request.promises = {{ReferralId{"a"}, {VehicleId{"far"}}}};
    request.most_changed_promises = 0;
    CHECK(plan(district, request).carried[0].way.vehicles == std::vector{VehicleId{"far"}});
    request.most_changed_promises = 1;
    const auto made = plan(district, request);
    CHECK(made.carried[0].way.vehicles == std::vector{VehicleId{"near"}});
    REQUIRE(made.changed.size() == 1);
    // From H it takes 15 minutes to reach her; the near one is there.
    CHECK(made.changed[0].why == Message{"dispatch.changed_to_be_sooner", {{"minutes", "15"}}});
    SUBCASE("she is not taken out of the vehicle that she is in") {
        request.promises[0].is_aboard = true;
        CHECK(plan(district, request).carried[0].way.vehicles == std::vector{VehicleId{"far"}});
    }
    SUBCASE("a vehicle that broke down is replaced whatever the limit, and that is said") {
        request.promises[0].vehicles = {VehicleId{"broken"}};
        request.most_changed_promises = 0;
        const auto again = plan(district, request);
        CHECK(again.carried[0].way.vehicles == std::vector{VehicleId{"near"}});
        CHECK(again.changed[0].why.id == "dispatch.promise_cannot_be_kept");
    }
}

TEST_CASE("Whoever decides otherwise is told what it costs") {
    auto district = two_clinics();
    const std::vector women{woman(district, "a", 'A', 2h)};
    const std::vector vehicles{DrawnDistrict::vehicle("far", 'H'),
                               DrawnDistrict::vehicle("near", 'A')};
    PlanRequest request{women, vehicles};
    request.decided = Promise{ReferralId{"a"}, {VehicleId{"far"}}};
    const auto made = plan(district, request);
    CHECK(made.carried[0].way.vehicles == std::vector{VehicleId{"far"}});
    CHECK(seconds_in(made.decision_costs_more) == 15min);
    request.decided->vehicles = {VehicleId{"unknown"}};
    CHECK_THROWS_AS(plan(district, request), InputError);
    request.decided->referral = ReferralId{"unknown"};
    CHECK_THROWS_AS(plan(district, request), InputError);
}

TEST_CASE(
    "On drawn districts one more vehicle never makes the plan worse, a closure never better") {
    // Women at A, B and E, vehicles anywhere; the ring road has one way round each closure. Places
    // count as equal within the tolerances of the choice, so these are switched off here.
    const auto ring = tests::ascii_district(R"(
        D----A----B
        |         |
        E---------H
    )");
    std::mt19937 random{1};
    const std::string letters = "DABEH";
    const auto letter = [&] { return letters[random() % letters.size()]; };
    for (int trial = 0; trial < 40; ++trial) {
        CAPTURE(trial);
        std::vector<Vehicle> vehicles;
        const auto count = random() % 4;
        for (std::size_t number = 0; number <= count; ++number) {
            vehicles.push_back(DrawnDistrict::vehicle("v" + std::to_string(number), letter()));
        }
        std::vector<Seconds> within;
        for (int woman_number = 0; woman_number < 3; ++woman_number) {
            within.emplace_back(std::chrono::minutes{5 + random() % 30});
        }
        const auto cost = [&](const tests::AsciiDistrict& drawn, std::size_t used) {
            DrawnDistrict district(drawn);
            for (const char place : std::string{"DABE"}) {
                district.place(place, {});
            }
            district.place('H', theatre);
            district.choice.lateness_tolerance = 0;
            district.choice.time_tolerance = 0s;
            const std::vector women{woman(district, "a", 'A', within[0]),
                                    woman(district, "b", 'B', within[1]),
                                    woman(district, "e", 'E', within[2])};
            return plan(district, {women, std::span(vehicles).first(used)}).cost;
        };
        const Cost before = cost(ring, vehicles.size());
        CHECK(before <= cost(ring, vehicles.size() - 1));
        CHECK(before <= cost(ring.close(trial % 2 == 0 ? "AB" : "EH"), vehicles.size()));
    }
}

}  // namespace waybourne::dispatch
