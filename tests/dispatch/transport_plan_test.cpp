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

TEST_CASE("One vehicle, three women who can wait: it fetches all on one tour, in the best order") {
    // D and H at the ends, the clinics between them: 5 minutes to A, 5 to B, 5 to C, 5 to H. Every
    // order but A, B, C goes back and forth.
    DrawnDistrict district(tests::ascii_district("D----A----B----C----H"));
    district.place('A', {}).place('B', {}).place('C', {}).place('D', {}).place('H', theatre);
    const std::vector women{woman(district, "c", 'C', 6h), woman(district, "a", 'A', 6h),
                            woman(district, "b", 'B', 6h)};
    auto bus = DrawnDistrict::vehicle("bus", 'D');
    bus.seats = {3, 0};
    const auto made = plan(district, {women, {&bus, 1}});
    const std::vector order{ReferralId{"a"}, ReferralId{"b"}, ReferralId{"c"}};
    const std::vector with_her{ten + 15min, ten + 5min, ten + 10min};
    const std::vector numbers{"3", "1", "2"};
    for (std::size_t one = 0; one < women.size(); ++one) {
        CAPTURE(women[one].id.value());
        CHECK(made.carried[one].tour == order);
        CHECK(made.carried[one].way.vehicles == std::vector{VehicleId{"bus"}});
        CHECK(made.carried[one].way.with_her->allow == with_her[one]);
        CHECK(made.carried[one].way.care_begins.allow == ten + 20min);
        CHECK(std::count(made.carried[one].way.remarks.begin(), made.carried[one].way.remarks.end(),
                         Message{"dispatch.fetched_on_a_tour",
                                 {{"number", numbers[one]}, {"count", "3"}}}) == 1);
    }
    CHECK(made.carried[0].rides_with == ReferralId{"b"});
    CHECK(made.cost == 3 * cost_of(0, 20min));
    SUBCASE("not where one of them needs something within the next hours") {
        auto hurried = women;
        hurried[0] = woman(district, "c", 'C', 4h - 1s);
        const auto without = plan(district, {hurried, {&bus, 1}});
        CHECK(without.carried[0].tour.size() < 3);
    }
    SUBCASE("not where only two can lie") {
        bus.seats = {2, 0};
        const auto without = plan(district, {women, {&bus, 1}});
        CHECK(std::none_of(without.carried.begin(), without.carried.end(),
                           [](const Carried& carried) { return carried.tour.size() > 2; }));
    }
    SUBCASE("with a vehicle at each clinic nobody waits for another one") {
        const std::vector vehicles{bus, DrawnDistrict::vehicle("at-a", 'A'),
                                   DrawnDistrict::vehicle("at-b", 'B'),
                                   DrawnDistrict::vehicle("at-c", 'C')};
        const auto each = plan(district, {women, vehicles});
        CHECK(std::all_of(each.carried.begin(), each.carried.end(),
                          [](const Carried& carried) { return carried.tour.empty(); }));
    }
}

TEST_CASE("The plan with one bus equals the best of all orders of all groups that it can carry") {
    // Against every set of women on the one vehicle in every order: the others wait, which costs
    // far more than any ride. Places anywhere on a ring; one minute a character.
    const auto ring = tests::ascii_district(R"(
        D----A----B
        |         |
        E----C----H
    )");
    std::mt19937 random{7};
    const std::string letters = "ABCE";
    for (int trial = 0; trial < 60; ++trial) {
        CAPTURE(trial);
        DrawnDistrict district(ring);
        for (const char place : std::string{"DABCE"}) {
            district.place(place, {});
        }
        district.place('H', theatre);
        district.choice.lateness_tolerance = 0;
        district.choice.time_tolerance = 0s;
        std::vector<OpenReferral> women;
        std::string at;
        const std::size_t count = 2 + random() % 3;
        for (std::size_t one = 0; one < count; ++one) {
            at += letters[random() % letters.size()];
            women.push_back(woman(district, std::to_string(one), at.back(), 5h));
        }
        auto bus = DrawnDistrict::vehicle("bus", 'D');
        bus.seats = {static_cast<int>(2 + random() % 3), 0};
        const auto drive = [&](char from, char to) {
            return from == to ? Seconds{0} : *ring.typical(from, to, ten);
        };
        const Cost waits = plan(district, {{women.data(), 1}, {}}).cost;
        Cost least = waits * static_cast<Cost>(count);
        for (std::size_t set = 1; set < std::size_t{1} << count; ++set) {
            std::vector<std::size_t> order;
            for (std::size_t one = 0; one < count; ++one) {
                if ((set >> one & 1) != 0) {
                    order.push_back(one);
                }
            }
            if (order.size() > static_cast<std::size_t>(bus.seats.lying)) {
                continue;
            }
            do {
                Seconds taken = drive('D', at[order.front()]);
                for (std::size_t stop = 1; stop < order.size(); ++stop) {
                    taken += drive(at[order[stop - 1]], at[order[stop]]);
                }
                taken += drive(at[order.back()], 'H');
                least = std::min(least, cost_of(0, taken) * static_cast<Cost>(order.size()) +
                                            waits * static_cast<Cost>(count - order.size()));
            } while (std::next_permutation(order.begin(), order.end()));
        }
        CHECK(plan(district, {women, {&bus, 1}}).cost == least);
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

TEST_CASE("A rendezvous that is listed can be decided on, and one that was promised is kept") {
    // A minute a character; both at their bases: the motorcycle with her, 21 minutes from H.
    DrawnDistrict district(tests::ascii_district("A----B----C----D----H"));
    district.place('A', {}).place('H', theatre);
    const std::vector women{woman(district, "a", 'A', 10h)};  // in time by either alone
    const std::vector vehicles{DrawnDistrict::vehicle("motorcycle", 'A'),
                               DrawnDistrict::vehicle("car", 'H')};
    const std::vector both{VehicleId{"motorcycle"}, VehicleId{"car"}};
    PlanRequest request{women, vehicles};
    CHECK(plan(district, request).carried[0].way.vehicles == std::vector{both[0]});
    request.decided = Promise{ReferralId{"a"}, both};
    const auto decided = plan(district, request);
    CHECK(decided.carried[0].way.kind == WayKind::rendezvous);
    CHECK(decided.carried[0].way.vehicles == both);
    CHECK(seconds_in(decided.decision_costs_more) >= Seconds{0});
    request.decided.reset();
    request.promises = {{ReferralId{"a"}, both}};
    request.most_changed_promises = 0;
    const auto kept = plan(district, request);
    CHECK(kept.carried[0].way.vehicles == both);
    CHECK(kept.changed.empty());
}

TEST_CASE(
    "What is driven before the last stretch is told: to her, over others, to where they meet") {
    // A minute a character. One end of each line, and the other.
    DrawnDistrict district(tests::ascii_district("D----A----B----C----H"));
    district.place('A', {}).place('B', {}).place('C', {}).place('D', {}).place('H', theatre);
    const auto drawn = tests::ascii_district("D----A----B----C----H");
    const auto leads = [&](const Stretch& stretch, char from, char to) {
        const auto is_at = [&](const GeoPoint& point, char letter) {
            return great_circle_distance(point, drawn.point(letter)) < Metres{5};
        };
        return stretch.line.size() >= 2 && is_at(stretch.line.front(), from) &&
               is_at(stretch.line.back(), to);
    };
    std::vector women{woman(district, "b", 'B', 10h)};
    PlanRequest request{women, {}};
    request.with_stretches = true;
    SUBCASE("a vehicle that is sent: from its base to her") {
        const std::vector vehicles{DrawnDistrict::vehicle("car", 'D')};
        request.vehicles = vehicles;
        const auto before = plan(district, request).carried[0].before;
        REQUIRE(before.size() == 1);
        CHECK(before[0].vehicle == VehicleId{"car"});
        CHECK(leads(before[0], 'D', 'B'));
        CHECK_FALSE(before[0].leads_to_meeting);
        request.with_stretches = false;
        CHECK(plan(district, request).carried[0].before.empty());
    }
    SUBCASE("a vehicle that stands with her drives nothing before") {
        const std::vector vehicles{DrawnDistrict::vehicle("car", 'B')};
        request.vehicles = vehicles;
        CHECK(plan(district, request).carried[0].before.empty());
    }
    SUBCASE("two who ride together: the second is reached over the first") {
        women.push_back(woman(district, "a", 'A', 10h));
        request.referrals = women;
        auto car = DrawnDistrict::vehicle("car", 'D');
        car.seats = {2, 0};
        request.vehicles = {&car, 1};
        const auto made = plan(district, request);
        REQUIRE(made.carried[0].tour == std::vector{ReferralId{"a"}, ReferralId{"b"}});
        REQUIRE(made.carried[0].before.size() == 2);
        CHECK(leads(made.carried[0].before[0], 'D', 'A'));
        CHECK(leads(made.carried[0].before[1], 'A', 'B'));
        REQUIRE(made.carried[1].before.size() == 1);
        CHECK(leads(made.carried[1].before[0], 'D', 'A'));
    }
    SUBCASE("a rendezvous: both ways to where they meet") {
        const std::vector vehicles{DrawnDistrict::vehicle("motorcycle", 'D'),
                                   DrawnDistrict::vehicle("car", 'H')};
        women = {woman(district, "d", 'D', 10h)};
        request.referrals = women;
        request.vehicles = vehicles;
        request.decided = Promise{ReferralId{"d"}, {vehicles[0].id, vehicles[1].id}};
        const auto before = plan(district, request).carried[0].before;
        REQUIRE(before.size() == 2);  // at B after ten minutes each
        CHECK(before[0].vehicle == vehicles[0].id);
        CHECK(leads(before[0], 'D', 'B'));
        CHECK(before[1].vehicle == vehicles[1].id);
        CHECK(leads(before[1], 'H', 'B'));
        CHECK(std::all_of(before.begin(), before.end(),
                          [](const Stretch& stretch) { return stretch.leads_to_meeting; }));
    }
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
