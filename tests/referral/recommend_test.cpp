#include <doctest/doctest.h>

#include "tests/referral/small_district.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using Places = std::vector<std::string>;

// All cases follow the sentences of the choice of place: weights, tolerances and figures are the
// project's own proposals (common practice, no source), so expected times are worked out by hand.

namespace {

constexpr Capability magnesium = Capability::magnesium_sulfate;
constexpr Capability theatre = Capability::operative_delivery;
constexpr Capability blood = Capability::blood_transfusion;
constexpr Capability oxygen = Capability::oxygen;

}  // namespace

TEST_CASE("She goes to the nearest place that gives all she needs in time") {
    SmallDistrict district;
    district.place("near", {magnesium}).way("near", 20min);
    district.place("middle", {magnesium, theatre}).way("middle", 60min);
    district.place("far", {magnesium, theatre}).way("far", 90min);
    const auto answer = district.ask({critical({magnesium}, 120min), critical({theatre}, 240min)});
    CHECK(answer.outcome == Outcome::in_time);
    REQUIRE(answer.chosen);
    CHECK(places_of(*answer.chosen) == Places{"middle"});
    const Stage& stage = answer.chosen->stages.front();
    CHECK(stage.arrival.allow == ten + 60min);
    CHECK(stage.care_begins.allow == ten + 60min);
    CHECK(stage.meets == std::vector{magnesium, theatre});
    // The tighter limit, two hours, less the hour it takes.
    CHECK(stage.margin == 60min);
    CHECK(stage.leave_by == ten + 60min);
    CHECK(answer.alternatives.size() == 2);
    CHECK(answer.call_first.empty());
    CHECK(answer.meanwhile.empty());
}

TEST_CASE("A nearer place that is open but has no blood loses to a farther one that has") {
    // clinical.md g: "a nearer site that is open but has no blood must lose to a farther one".
    SmallDistrict district;
    district.place("near", {theatre, blood}).way("near", 20min);
    district.hear("near", blood, false, ten - 10min);
    district.place("far", {theatre, blood}).way("far", 70min);
    const auto answer = district.ask({critical({theatre}, 240min), critical({blood}, 240min)});
    CHECK(places_of(answer.chosen.value()) == Places{"far"});
    CHECK(reasons_against(answer, "near") == Places{"facilities.none_minutes"});
}

TEST_CASE("Any one capability of a need is enough") {
    SmallDistrict district;
    district.place("clinic", {Capability::rapid_oral_antihypertensive}).way("clinic", 30min);
    const auto answer = district.ask(
        {need({Capability::parenteral_antihypertensive, Capability::rapid_oral_antihypertensive},
              240min)});
    CHECK(answer.outcome == Outcome::in_time);
    CHECK(answer.chosen->stages.front().meets ==
          std::vector{Capability::rapid_oral_antihypertensive});
}

TEST_CASE("In time is judged by the allowed travel time, not by the typical one") {
    SmallDistrict district;
    district.place("unsure", {theatre}).way("unsure", 50min, 130min);
    district.place("sure", {theatre}).way("sure", 80min, 100min);
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(answer.outcome == Outcome::in_time);
    CHECK(places_of(answer.chosen.value()) == Places{"sure"});
    CHECK(reasons_against(answer, "unsure") == Places{"referral.too_late"});
}

TEST_CASE("Care begins when she is handed over and the team is there, whichever is later") {
    // clinical.md d.2: arrival 50 + theatre team 30 = 80 when they are called on arrival.
    SmallDistrict district;
    district.place("hospital", {theatre}).way("hospital", 50min);
    district.service("hospital", theatre).lead = 30min;
    SUBCASE("called on arrival") {
        district.start.can_phone = false;
        const auto answer = district.ask({critical({theatre}, 120min)});
        CHECK(answer.chosen->stages.front().care_begins.allow == ten + 80min);
    }
    SUBCASE("phoned before she leaves, they come while she travels") {
        const auto answer = district.ask({critical({theatre}, 120min)});
        CHECK(answer.chosen->stages.front().care_begins.allow == ten + 50min);
    }
    SUBCASE("handing over takes its time too") {
        district.settings.handover = 14min;
        const auto answer = district.ask({critical({theatre}, 120min)});
        CHECK(answer.chosen->stages.front().care_begins.allow == ten + 64min);
        // 120 - 64 minutes.
        CHECK(answer.chosen->stages.front().margin == 56min);
    }
}

TEST_CASE("Without word on transport she is taken to leave in 15 minutes when now, else in 30") {
    // clinical.md g, a proposal.
    SmallDistrict district;
    district.place("hospital", {theatre}).way("hospital", 60min);
    district.start.ready_in.reset();
    auto assessment = assessment_of({critical({theatre}, 240min)});
    SUBCASE("not now") {
        const auto answer = district.ask(assessment);
        CHECK(answer.chosen->stages.front().arrival.typical == ten + 90min);
        CHECK(mentions(answer.remarks, "referral.assumed_departure"));
    }
    SUBCASE("leave now") {
        assessment.leave_now = true;
        CHECK(district.ask(assessment).chosen->stages.front().arrival.typical == ten + 75min);
    }
    SUBCASE("known: nothing is assumed") {
        district.start.ready_in = 5min;
        const auto answer = district.ask(assessment);
        CHECK(answer.chosen->stages.front().arrival.typical == ten + 65min);
        CHECK_FALSE(mentions(answer.remarks, "referral.assumed_departure"));
    }
}

TEST_CASE("What the clinic itself can give counts as met") {
    SmallDistrict district;
    district.place("near", {theatre}).way("near", 30min);
    district.place("far", {theatre, magnesium}).way("far", 60min);
    auto assessment = assessment_of({critical({magnesium}, 60min), critical({theatre}, 240min)});
    assessment.needs[0].available_here = true;
    CHECK(places_of(district.ask(assessment).chosen.value()) == Places{"near"});
    SUBCASE("all of it: she stays") {
        assessment.needs[1].available_here = true;
        const auto answer = district.ask(assessment);
        CHECK(answer.outcome == Outcome::stay);
        CHECK_FALSE(answer.chosen.has_value());
    }
}

TEST_CASE("Nothing needed: she stays") {
    SmallDistrict district;
    district.place("hospital", {theatre}).way("hospital", 30min);
    CHECK(district.ask(std::vector<triage::Need>{}).outcome == Outcome::stay);
}

TEST_CASE("Of equally good places, one that can continue what was begun here is preferred") {
    SmallDistrict district;
    // "a" would win by its name.
    district.place("a", {theatre}).way("a", 60min);
    district.place("b", {theatre, magnesium}).way("b", 64min);
    auto assessment = assessment_of({critical({magnesium}, 60min), critical({theatre}, 240min)});
    assessment.needs[0].available_here = true;
    auto answer = district.ask(assessment);
    CHECK(places_of(answer.chosen.value()) == Places{"b"});
    CHECK(reasons_against(answer, "a") == Places{"referral.cannot_continue"});
    SUBCASE("but not when care would begin more than five minutes later") {
        district.way("b", 66min);
        CHECK(places_of(district.ask(assessment).chosen.value()) == Places{"a"});
    }
}

TEST_CASE(
    "A minute late is a minute, not a miss: the least late place is chosen and said to be late") {
    SmallDistrict district;
    district.place("a", {theatre}).way("a", 150min);
    district.place("b", {theatre}).way("b", 130min);
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(answer.outcome == Outcome::late);
    CHECK(places_of(answer.chosen.value()) == Places{"b"});
    // Ten minutes late of 120, weighing three.
    CHECK(answer.chosen->lateness == doctest::Approx(0.25));
    CHECK(answer.chosen->stages.front().margin == -10min);
    // She would have had to leave ten minutes ago: at once.
    CHECK(answer.chosen->stages.front().leave_by == ten);
    CHECK(mentions(answer.meanwhile, "referral.begin_here_go_on_the_way"));
    CHECK(mentions(answer.meanwhile, "referral.call_for_advice"));
}

TEST_CASE("Critical needs weigh three times as much as others") {
    // Two places, each late for one need by half its limit; the critical one must be less late.
    SmallDistrict district;
    district.place("a", {theatre, oxygen}).way("a", 60min);
    district.place("b", {theatre, oxygen}).way("b", 60min);
    district.hear("a", theatre, false, ten, ten + 180min).hear("a", theatre, true, ten - 2h);
    district.hear("b", oxygen, false, ten, ten + 180min);
    district.settings.second_stop_saves = 100;
    // After a report runs out its subject is unconfirmed, so nothing here is compared by surety.
    district.start.can_phone = false;
    const auto answer = district.ask({critical({theatre}, 120min), need({oxygen}, 120min)});
    CHECK(places_of(answer.chosen.value()).front() == "b");
}

TEST_CASE("Every critical need met, however late, comes before one never met") {
    SmallDistrict district;
    district.place("near", {magnesium}).way("near", 10min);
    district.place("far", {magnesium, theatre}).way("far", 20h);
    const auto answer = district.ask({critical({magnesium}, 60min), critical({theatre}, 1440min)});
    CHECK(places_of(answer.chosen.value()) == Places{"far"});
    CHECK(answer.outcome == Outcome::late);
}

TEST_CASE("A place farther than the search limit counts as out of reach") {
    SmallDistrict district;
    district.place("far", {theatre}).way("far", 25h);
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(answer.outcome == Outcome::nowhere);
    CHECK(mentions(answer.remarks, "referral.no_way_anywhere"));
    CHECK(reasons_against(answer, "far") == Places{"referral.no_way"});
    CHECK(mentions(answer.meanwhile, "referral.call_for_advice"));
    CHECK(mentions(answer.meanwhile, "referral.call_the_district"));
}

TEST_CASE("Nowhere: the answer says why, and whom to call") {
    SmallDistrict district;
    district.place("clinic", {magnesium}).way("clinic", 20min);
    SUBCASE("nobody offers it") {
        const auto answer = district.ask({critical({theatre}, 120min)});
        CHECK(answer.outcome == Outcome::nowhere);
        CHECK(mentions(answer.remarks, "referral.nobody_offers_it"));
        CHECK(reasons_against(answer, "clinic") == Places{"referral.does_not_give"});
        CHECK(mentions(answer.meanwhile, "referral.call_the_district"));
    }
    SUBCASE("nobody is ready, and nobody says when") {
        district.hear("clinic", magnesium, false, ten);
        const auto answer = district.ask({critical({magnesium}, 120min)});
        CHECK(answer.outcome == Outcome::nowhere);
        CHECK(mentions(answer.remarks, "referral.nobody_is_ready"));
    }
    SUBCASE("everybody refused") {
        district.start.calls[FacilityId{"clinic"}] = CallAnswer::refused;
        const auto answer = district.ask({critical({magnesium}, 120min)});
        CHECK(answer.outcome == Outcome::nowhere);
        CHECK(mentions(answer.remarks, "referral.everybody_refused"));
        CHECK(reasons_against(answer, "clinic") == Places{"referral.refused_on_the_phone"});
    }
}

TEST_CASE("She is never sent to where she is") {
    SmallDistrict district;
    district.place("here", {theatre}).way("here", 0min);
    district.place("there", {theatre}).way("there", 60min);
    district.start.at_facility = FacilityId{"here"};
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(places_of(answer.chosen.value()) == Places{"there"});
    CHECK(reasons_against(answer, "here").empty());
}

TEST_CASE("Equally good places are told apart by fewer changes of vehicle, then by their ids") {
    SmallDistrict district;
    district.place("a", {theatre}).way("a", 60min);
    district.place("b", {theatre}).way("b", 60min);
    CHECK(places_of(district.ask({critical({theatre}, 120min)}).chosen.value()) == Places{"a"});
    // The ferry leaves every minute: no wait worth telling, but two vehicles.
    district.router.set_way(GeoPoint{Latitude{0}, Longitude{0}}, district.facility("a").point,
                            {60min, 60min, 1min, Metres{1000}});
    CHECK(places_of(district.ask({critical({theatre}, 120min)}).chosen.value()) == Places{"b"});
}

TEST_CASE("With a ferry she must leave in time for the last one that still helps") {
    // Leaves on the half hour, crosses in 20 minutes; theatre by 12:00 at the latest. The 11:30 is
    // the last that helps, so leaving by 11:30 rather than by 12:00 less what it takes from 10:00.
    SmallDistrict district;
    district.place("island", {theatre});
    district.router.set_way(GeoPoint{Latitude{0}, Longitude{0}}, district.facility("island").point,
                            {20min, 20min, 30min, Metres{1000}});
    const auto answer = district.ask({critical({theatre}, 120min)});
    const Stage& stage = answer.chosen->stages.front();
    CHECK(stage.arrival.allow == ten + 20min);
    CHECK(stage.leave_by.value() <= ten + 90min);
    CHECK(stage.leave_by.value() > ten + 88min);
}

TEST_CASE("When the theatre closes at noon, leaving later than fits is leaving too late") {
    SmallDistrict district;
    district.place("hospital", {theatre}).way("hospital", 60min);
    district.service("hospital", theatre).hours =
        facilities::parse_opening_hours("Mo-Su 08:00-12:00");
    const auto answer = district.ask({critical({theatre}, 300min)});
    // An arrival at 11:59:59 still finds it open; at noon it is closed until tomorrow.
    CHECK(answer.chosen->stages.front().leave_by == ten + 60min - 1s);
}

TEST_CASE("A need without a time limit is never late, but she is still sent for it") {
    SmallDistrict district;
    district.place("clinic", {oxygen}).way("clinic", 300min);
    const auto answer = district.ask({need({oxygen}, std::nullopt)});
    CHECK(answer.outcome == Outcome::in_time);
    CHECK_FALSE(answer.chosen->stages.front().margin.has_value());
    CHECK_FALSE(answer.chosen->stages.front().leave_by.has_value());
}

TEST_CASE("The same question gets the same answer") {
    SmallDistrict district;
    district.place("a", {theatre, magnesium}).way("a", 60min, 90min);
    district.place("b", {theatre}).way("b", 60min, 90min);
    const auto needs = {critical({theatre}, 120min), critical({magnesium}, 60min)};
    const auto first = district.ask(needs);
    const auto second = district.ask(needs);
    CHECK(places_of(*first.chosen) == places_of(*second.chosen));
    CHECK(first.remarks == second.remarks);
    CHECK(first.chosen->chance_in_time == second.chosen->chance_in_time);
}
