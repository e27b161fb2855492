#include <doctest/doctest.h>

#include "tests/referral/small_district.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using Places = std::vector<std::string>;

namespace {

constexpr Capability magnesium = Capability::magnesium_sulfate;
constexpr Capability theatre = Capability::operative_delivery;
constexpr Capability blood = Capability::blood_transfusion;

/// The worked example of facts-planning.md, B3: straight to the hospital 95 minutes; by the health
/// centre 35 minutes, 20 there, 70 onward.
SmallDistrict worked_example() {
    SmallDistrict district;
    district.place("centre", {magnesium}).way("centre", 35min);
    district.place("hospital", {magnesium, theatre}).way("hospital", 95min);
    district.onward("centre", "hospital", 70min);
    return district;
}

}  // namespace

TEST_CASE("She stops first at a nearer place for what cannot wait, then goes on") {
    auto district = worked_example();
    const auto answer = district.ask({critical({magnesium}, 60min), critical({theatre}, 150min)});
    CHECK(answer.outcome == Outcome::in_time);
    REQUIRE(places_of(answer.chosen.value()) == Places{"centre", "hospital"});
    const auto& stages = answer.chosen->stages;
    CHECK(stages[0].meets == std::vector{magnesium});
    CHECK(stages[0].care_begins.allow == ten + 35min);
    CHECK(stages[1].meets == std::vector{theatre});
    CHECK(stages[1].care_begins.allow == ten + 125min);
    CHECK(stages[0].margin == 25min);
    CHECK(stages[1].margin == 25min);
    // The stay there is one of the assumptions.
    CHECK(mentions(answer.remarks, "referral.assumed_stay"));
}

TEST_CASE("When what cannot wait is given at the clinic, she goes straight on") {
    auto district = worked_example();
    auto assessment = assessment_of({critical({magnesium}, 60min), critical({theatre}, 150min)});
    assessment.needs[0].available_here = true;
    CHECK(places_of(district.ask(assessment).chosen.value()) == Places{"hospital"});
}

TEST_CASE("When both ways miss a limit the less late one is given, by weight and share") {
    // Limit for the theatre 120: by the centre 5 late of 120, weighing three: 0.125. Straight:
    // magnesium 35 late of 60, weighing three: 1.75.
    auto district = worked_example();
    const auto answer = district.ask({critical({magnesium}, 60min), critical({theatre}, 120min)});
    CHECK(answer.outcome == Outcome::late);
    CHECK(places_of(answer.chosen.value()) == Places{"centre", "hospital"});
    CHECK(answer.chosen->lateness == doctest::Approx(0.125));
}

TEST_CASE("A second stop must earn its place: it must save a tenth of lateness") {
    auto district = worked_example();
    // Straight: late by 95 - limit of the limit, not critical. Limit 87: 8/87 = 0.092; 86: 0.105.
    SUBCASE("it saves less: straight on") {
        const auto answer = district.ask({need({magnesium}, 87min), critical({theatre}, 240min)});
        CHECK(places_of(answer.chosen.value()) == Places{"hospital"});
        CHECK(answer.outcome == Outcome::late);
    }
    SUBCASE("it saves more: by the centre") {
        const auto answer = district.ask({need({magnesium}, 86min), critical({theatre}, 240min)});
        CHECK(places_of(answer.chosen.value()) == Places{"centre", "hospital"});
        CHECK(answer.outcome == Outcome::in_time);
    }
}

TEST_CASE("Two places that each give a part are better than either alone") {
    SmallDistrict district;
    district.place("centre", {magnesium}).way("centre", 35min);
    district.place("hospital", {theatre}).way("hospital", 95min);
    district.onward("centre", "hospital", 70min).onward("hospital", "centre", 70min);
    const auto answer = district.ask({critical({magnesium}, 60min), critical({theatre}, 240min)});
    CHECK(places_of(answer.chosen.value()) == Places{"centre", "hospital"});
    CHECK(answer.chosen->unmet.empty());
}

TEST_CASE("She does not wait at the first stop for what begins sooner by going on") {
    // Magnesium at once at the centre; blood there only from 16:00. Hospital has blood and theatre.
    SmallDistrict district;
    district.place("centre", {magnesium, blood}).way("centre", 30min);
    district.service("centre", blood).hours = facilities::parse_opening_hours("Mo-Su 16:00-20:00");
    district.place("hospital", {theatre, blood}).way("hospital", 90min);
    district.onward("centre", "hospital", 60min);
    const auto answer = district.ask(
        {critical({magnesium}, 60min), critical({blood}, 240min), critical({theatre}, 240min)});
    REQUIRE(places_of(answer.chosen.value()) == Places{"centre", "hospital"});
    CHECK(answer.chosen->stages[0].meets == std::vector{magnesium});
    CHECK(answer.chosen->stages[1].meets == std::vector{blood, theatre});
    // 30 there, 20 stay, 60 onward.
    CHECK(answer.chosen->stages[1].arrival.allow == ten + 110min);
}

TEST_CASE("She waits at the first stop where the other place lacks what comes late there") {
    SmallDistrict district;
    district.place("centre", {magnesium, blood}).way("centre", 30min);
    district.service("centre", blood).hours = facilities::parse_opening_hours("Mo-Su 11:00-20:00");
    district.place("hospital", {theatre}).way("hospital", 90min);
    district.onward("centre", "hospital", 60min);
    const auto answer = district.ask(
        {critical({magnesium}, 60min), critical({blood}, 240min), critical({theatre}, 240min)});
    REQUIRE(places_of(answer.chosen.value()) == Places{"centre", "hospital"});
    CHECK(answer.chosen->stages[0].meets == std::vector{magnesium, blood});
    // Blood from 11:00, 20 minutes stay, 60 onward.
    CHECK(answer.chosen->stages[1].arrival.allow == ten + 140min);
}

TEST_CASE("No onward way is searched when going straight is in time") {
    auto district = worked_example();
    district.ask({critical({magnesium}, 120min), critical({theatre}, 240min)});
    CHECK(district.router.searches() == 1);
}

TEST_CASE("The chance of a staged plan counts both ways and both places") {
    auto district = worked_example();
    const auto answer = district.ask({critical({magnesium}, 60min), critical({theatre}, 150min)});
    const auto& stages = answer.chosen->stages;
    CHECK(answer.chosen->chance_in_time ==
          doctest::Approx(stages[0].chance_in_time * stages[1].chance_in_time));
    // Reported ready an hour ago: likely, not certain.
    CHECK(stages[0].chance_in_time > 0.9);
    CHECK(stages[0].chance_in_time < 1);
}
