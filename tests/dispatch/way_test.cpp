#include <doctest/doctest.h>

#include "tests/dispatch/dispatch_district.hpp"

namespace waybourne::dispatch {

namespace {

const CapabilitySet theatre{Capability::operative_delivery};

/// The clinic C, the hospital H 10 minutes away, the depot D 5 minutes on the other side.
DrawnDistrict clinic_and_hospital() {
    DrawnDistrict district(tests::ascii_district("D----C---------H"));
    district.place('C', {}).place('H', theatre).place('D', {});
    return district;
}

}  // namespace

TEST_CASE(
    "With one vehicle and one woman the place and the times are those of the recommendation") {
    auto district = clinic_and_hospital();
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("car", 'D', Means::car, 4min)});
    REQUIRE(ways.size() == 1);
    // Four minutes to mobilise and five to her: she leaves at 10:09.
    referral::Start start;
    const RoadsOf roads = district.roads(Means::car, ten);
    start.from = *roads.facility_snaps[district.register_of().position(FacilityId{"c"})];
    start.at_facility = FacilityId{"c"};
    start.ready_in = 9min;
    const auto alone =
        referral::recommend(woman.assessment, district.register_of(), roads.facility_snaps,
                            *roads.router, start, district.choice, ten);
    REQUIRE(alone.chosen.has_value());
    const referral::Stage& expected = alone.chosen->stages.front();
    const Way& way = ways.front();
    CHECK(way.recommendation.chosen->stages.front().facility == expected.facility);
    CHECK(way.care_begins == expected.care_begins);
    CHECK(way.arrives == expected.arrival);
    CHECK(way.recommendation.outcome == alone.outcome);
    CHECK(way.care_begins.allow == ten + 19min);  // 4 + 5 + 10
    CHECK(way.chance_in_time == doctest::Approx(expected.chance_in_time));
}

TEST_CASE("Her own transport that is ready beats a vehicle that must come first") {
    auto district = clinic_and_hospital();
    auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    woman.own_transport = Means::car;
    woman.own_ready_in = 2min;
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("car", 'D', Means::car, 4min)});
    REQUIRE(ways.size() == 2);
    CHECK(ways[0].kind == WayKind::own_transport);
    CHECK(ways[0].care_begins.allow == ten + 12min);
    CHECK(ways[0].against.empty());
    CHECK(ways[1].kind == WayKind::sent_vehicle);
    // 19 minutes against 12: seven later, more than the five that count as equal.
    CHECK(ways[1].against ==
          std::vector{Message{"dispatch.care_begins_later", {{"minutes", "7"}}}});
}

TEST_CASE("The clinic's own vehicle needs no way to her") {
    auto district = clinic_and_hospital();
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    const auto ways =
        district.ask(woman, {DrawnDistrict::vehicle("bike", 'C', Means::motorcycle, 3min)});
    REQUIRE(ways.size() == 1);
    CHECK(ways[0].kind == WayKind::clinic_vehicle);
    CHECK(ways[0].care_begins.allow == ten + 13min);
}

TEST_CASE("Of two ways that are equal the one with more of her needs on board goes first") {
    auto district = clinic_and_hospital();
    const auto woman = district.woman_at(
        'C', {critical_need(theatre, 60min), critical_need({Capability::oxygen}, 60min)});
    auto bare = DrawnDistrict::vehicle("a-bare", 'D');
    auto equipped = DrawnDistrict::vehicle("b-equipped", 'D');
    equipped.kit = {Capability::oxygen};
    const auto ways = district.ask(woman, {bare, equipped});
    CHECK(ways[0].vehicles == std::vector{equipped.id});
    CHECK(ways[1].against == std::vector{Message{"dispatch.no_better"}});
}

TEST_CASE("A vehicle that cannot be sent says why, and is never left out") {
    auto district = clinic_and_hospital();
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    auto held = DrawnDistrict::vehicle("off-duty", 'D');
    held.roster = {{ten - 8h, ten - 1h}};
    auto seats_only = DrawnDistrict::vehicle("seats-only", 'D');
    seats_only.seats = {0, 3};
    const auto ways = district.ask(woman, {held, seats_only, DrawnDistrict::vehicle("good", 'D')});
    REQUIRE(ways.size() == 3);
    CHECK(ways[0].vehicles == std::vector{VehicleId{"good"}});
    CHECK(mentions(ways[1].against, "dispatch.no_shift_soon"));
    CHECK(mentions(ways[2].against, "dispatch.she_cannot_lie"));
    CHECK_FALSE(ways[2].is_possible());
}

TEST_CASE("The published relay: a motorcycle and a car meet at kilometre 20 and save 35 minutes") {
    // Worked by hand: 60 km road; the motorcycle sets out after 5 minutes and 5 of loading at
    // 30 km/h; the car after 10 at 60 km/h with 10 of loading when it fetches her itself; transfer
    // 5 minutes. Car alone 140, motorcycle alone 130, relay at km 20 after 95. (Common practice, no
    // source: the arithmetic is ours.)
    std::string drawing;
    for (char letter = 'A'; letter <= 'M'; ++letter) {
        drawing += letter;
        drawing += letter == 'M' ? "" : "----";
    }
    const auto road = tests::ascii_district(drawing);  // A at 0, E at 20, M at 60 km
    auto slow = road;
    for (char letter = 'A'; letter < 'M'; ++letter) {
        slow = slow.slow(std::string{letter, static_cast<char>(letter + 1)}, 2);
    }
    DrawnDistrict district(road);
    district.roads_for(Means::motorcycle, slow);
    district.place('A', {}).place('M', theatre);
    district.settings.loading_at_facility = 5min;
    const auto woman = district.woman_at('A', {critical_need(theatre, 120min)});
    const auto ways =
        district.ask(woman, {DrawnDistrict::vehicle("motorcycle", 'A', Means::motorcycle, 5min),
                             DrawnDistrict::vehicle("car", 'M', Means::car, 10min)});
    REQUIRE(ways.size() == 3);
    CHECK(ways[0].kind == WayKind::rendezvous);
    CHECK(ways[0].vehicles == std::vector{VehicleId{"motorcycle"}, VehicleId{"car"}});
    CHECK(great_circle_distance(ways[0].meeting->point, road.point('E')) < Metres{1});
    CHECK(ways[0].meeting->first_arrives.typical == ten + 50min);
    CHECK(ways[0].meeting->second_arrives.typical == ten + 50min);
    CHECK(ways[0].care_begins.allow == ten + 95min);
    CHECK(ways[0].is_in_time());
    CHECK(ways[1].care_begins.allow == ten + 130min);
    CHECK(mentions(ways[1].against, "dispatch.later_for_her_needs"));
    // The car alone: 10 + 60 + 5 + 60, its loading being the settings' here.
    CHECK(ways[2].care_begins.allow == ten + 135min);
    SUBCASE("the same for a motorcycle that belongs elsewhere and was last heard of with her") {
        auto motorcycle = DrawnDistrict::vehicle("motorcycle", 'M', Means::motorcycle, 5min);
        motorcycle.last_position = Position{woman.at, ten - 40min};
        const auto again = district.ask(
            woman, {motorcycle, DrawnDistrict::vehicle("car", 'M', Means::car, 10min)});
        CHECK(again[0].kind == WayKind::rendezvous);
        CHECK(again[0].care_begins.allow == ten + 95min);
        CHECK(std::count(again[0].remarks.begin(), again[0].remarks.end(),
                         Message{"dispatch.position_is_old", {{"minutes", "40"}}}) == 1);
    }
    SUBCASE("not with one whose base is her clinic but that was heard of at the hospital") {
        auto motorcycle = DrawnDistrict::vehicle("motorcycle", 'A', Means::motorcycle, 5min);
        motorcycle.last_position = Position{district.woman_at('M', {}).at, ten - 1min};
        const auto again = district.ask(
            woman, {motorcycle, DrawnDistrict::vehicle("car", 'M', Means::car, 10min)});
        CHECK(std::none_of(again.begin(), again.end(),
                           [](const Way& way) { return way.kind == WayKind::rendezvous; }));
    }
}

TEST_CASE("When the night road is closed and the deadline allows it, they wait for dawn") {
    const auto roads = tests::ascii_district("D----C---------H");
    DrawnDistrict district(roads);
    district.place('C', {}).place('H', theatre).place('D', {});
    district.night(roads.close("CH"), ten + 40min);
    auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    woman.own_transport = Means::car;
    woman.own_ready_in = 2min;
    auto ways = district.ask(woman, {});
    REQUIRE(ways.size() == 2);
    CHECK(ways[0].waits_for_dawn);
    CHECK(ways[0].care_begins.allow == ten + 50min);
    CHECK(ways[0].is_in_time());
    CHECK(mentions(ways[0].remarks, "dispatch.waits_for_dawn"));
    CHECK_FALSE(ways[1].is_possible());
    SUBCASE("when the deadline does not allow it, she is late, and that is said") {
        woman.assessment.needs = {critical_need(theatre, 45min)};
        ways = district.ask(woman, {});
        CHECK(ways[0].recommendation.outcome == referral::Outcome::late);
    }
    SUBCASE("a night road that is open is taken at once") {
        district.night(roads, ten + 40min);
        DrawnDistrict open(roads);
        open.place('C', {}).place('H', theatre);
        open.night(roads, ten + 40min);
        ways = open.ask(woman, {});
        REQUIRE(ways.size() == 1);
        CHECK_FALSE(ways[0].waits_for_dawn);
    }
}

TEST_CASE("Where the bridge is out she crosses by the ferry, and its timetable counts") {
    // C to the bank F 2 minutes, ferry on the hour, 10 minutes, then 2 to the hospital.
    DrawnDistrict district(tests::ascii_district("C--F~~~~G--H")
                               .ferry("FG", {.crosses = 10min, .leaves_every = 60min}));
    district.place('C', {}).place('H', theatre);
    const auto woman = district.woman_at('C', {critical_need(theatre, 3h)});
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("car", 'C', Means::car, 4min)});
    REQUIRE(ways.size() == 1);
    CHECK(ways[0].takes_a_ferry);
    // Leaves at 10:04, at the bank at 10:07 (three columns), the boat at 11:00, across at 11:10,
    // three more columns.
    CHECK(ways[0].care_begins.typical == ten + 73min);
}

TEST_CASE("A woman who needs nothing elsewhere is not carried anywhere") {
    auto district = clinic_and_hospital();
    auto need = critical_need(theatre, 60min);
    need.available_here = true;
    CHECK(
        district.ask(district.woman_at('C', {need}), {DrawnDistrict::vehicle("car", 'D')}).empty());
}

TEST_CASE("A vehicle last heard of where she is stands with her, and how old that is is said") {
    auto district = clinic_and_hospital();
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    auto car = DrawnDistrict::vehicle("car", 'D');
    car.last_position = Position{woman.at, ten - 40min};
    auto ways = district.ask(woman, {car});
    REQUIRE(ways.size() == 1);
    CHECK(ways[0].kind == WayKind::clinic_vehicle);
    CHECK(ways[0].care_begins.allow == ten + 10min);
    CHECK(std::count(ways[0].remarks.begin(), ways[0].remarks.end(),
                     Message{"dispatch.position_is_old", {{"minutes", "40"}}}) == 1);
    SUBCASE("its base is her clinic, but it was heard of elsewhere: it must come first") {
        auto elsewhere = DrawnDistrict::vehicle("car", 'C');
        elsewhere.last_position = Position{district.woman_at('D', {}).at, ten - 1min};
        ways = district.ask(woman, {elsewhere});
        CHECK(ways[0].kind == WayKind::sent_vehicle);
        CHECK(ways[0].care_begins.allow == ten + 15min);
    }
}

TEST_CASE("A trip that outlasts the shift says when it ends, so that the crew is asked") {
    auto district = clinic_and_hospital();  // 5 minutes from D to C, 10 from C to H
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    auto car = DrawnDistrict::vehicle("car", 'D', Means::car, 4min);
    const auto ends = [](const Way& way) {
        const auto found = std::find_if(
            way.remarks.begin(), way.remarks.end(),
            [](const Message& remark) { return remark.id == "dispatch.shift_ends_on_the_way"; });
        return found == way.remarks.end() ? "" : found->values.front().second;
    };
    car.roster = {{ten - 8h, ten + 18min}};
    CHECK(ends(district.ask(woman, {car})[0]) == "2026-03-04T10:18:00Z");
    car.roster = {{ten - 8h, ten + 19min}};  // it is there then
    CHECK(ends(district.ask(woman, {car})[0]).empty());
    SUBCASE("one that could not even set out is not sent, and says why") {
        car.roster = {{ten - 8h, ten + 4min}};
        const auto way = district.ask(woman, {car})[0];
        CHECK_FALSE(way.is_possible());
        CHECK(mentions(way.against, "dispatch.shift_ends_before_it_goes"));
    }
}

TEST_CASE("In a rendezvous each shift counts as far as that vehicle drives") {
    // The motorcycle with her at A and the car at H meet after ten minutes, and transfer takes
    // none.
    DrawnDistrict district(tests::ascii_district("A----B----C----D----H"));
    for (const char letter : std::string{"ABCD"}) {
        district.place(letter, {});
    }
    district.place('H', theatre);
    district.settings.transfer = 0min;
    district.settings.rendezvous_saves = -10h;
    auto motorcycle = DrawnDistrict::vehicle("motorcycle", 'A');
    auto car = DrawnDistrict::vehicle("car", 'H');
    const auto woman = district.woman_at('A', {critical_need(theatre, 10h)});
    const auto count = [&] {
        for (const Way& way : district.ask(woman, {motorcycle, car})) {
            if (way.kind == WayKind::rendezvous) {
                return std::count_if(way.remarks.begin(), way.remarks.end(), [](const auto& one) {
                    return one.id == "dispatch.shift_ends_on_the_way";
                });
            }
        }
        return std::ptrdiff_t{-1};
    };
    motorcycle.roster = {{ten - 1h, ten + 10min}};
    car.roster = {{ten - 1h, ten + 20min}};
    CHECK(count() == 0);
    motorcycle.roster = {{ten - 1h, ten + 9min}};
    CHECK(count() == 1);
    car.roster = {{ten - 1h, ten + 19min}};
    CHECK(count() == 2);
}

}  // namespace waybourne::dispatch
