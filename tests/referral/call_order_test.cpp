#include <doctest/doctest.h>

#include "tests/referral/small_district.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using Places = std::vector<std::string>;

namespace {

constexpr Capability theatre = Capability::operative_delivery;
constexpr Capability magnesium = Capability::magnesium_sulfate;

/// The nearer one has not been heard of; the farther one confirmed an hour ago.
SmallDistrict unheard_and_confirmed() {
    SmallDistrict district;
    district.unheard("x", {theatre}).way("x", 40min);
    district.place("y", {theatre}).way("y", 90min);
    return district;
}

}  // namespace

TEST_CASE("Phone X now; yes: go; no, or no answer in five minutes: go to Y") {
    auto district = unheard_and_confirmed();
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(places_of(answer.chosen.value()) == Places{"x"});
    CHECK(answer.chosen->is_unconfirmed);
    REQUIRE(answer.call_first.size() == 1);
    CHECK(answer.call_first[0].facility.value() == "x");
    CHECK(answer.call_first[0].wait == 5min);
    CHECK(answer.call_first[0].if_declined.value().value() == "y");
    CHECK(places_of(answer.alternatives.at(0)) == Places{"y"});
}

TEST_CASE("When Y would be late after the five minutes, Y leads") {
    auto district = unheard_and_confirmed();
    SUBCASE("one minute late of 120, weighing three, is 0.025: more than the tolerance") {
        district.way("y", 116min);
        const auto answer = district.ask({critical({theatre}, 120min)});
        CHECK(places_of(answer.chosen.value()) == Places{"y"});
        CHECK(answer.outcome == Outcome::in_time);
        CHECK(answer.call_first.empty());
        CHECK(places_of(answer.alternatives.at(0)) == Places{"x"});
        CHECK(mentions(answer.remarks, "referral.unconfirmed_would_be_better"));
        CHECK_FALSE(reasons_against(answer, "x").empty());
    }
    SUBCASE("just in time after the wait: X leads") {
        district.way("y", 115min);
        const auto answer = district.ask({critical({theatre}, 120min)});
        CHECK(places_of(answer.chosen.value()) == Places{"x"});
    }
}

TEST_CASE("When nobody can phone, the best confirmed place leads") {
    auto district = unheard_and_confirmed();
    district.start.can_phone = false;
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(places_of(answer.chosen.value()) == Places{"y"});
    CHECK(answer.call_first.empty());
    // The reason of the place: never reported.
    CHECK(reasons_against(answer, "x") == Places{"facilities.never_reported"});
}

TEST_CASE("A place without a known number cannot be phoned") {
    auto district = unheard_and_confirmed();
    district.facility("x").phones.clear();
    CHECK(places_of(district.ask({critical({theatre}, 120min)}).chosen.value()) == Places{"y"});
}

TEST_CASE("A confirmed place that lacks a critical need does not stand behind the call") {
    SmallDistrict district;
    district.unheard("hospital", {theatre, magnesium}).way("hospital", 60min);
    district.place("post", {magnesium}).way("post", 20min);
    const auto needs = {critical({theatre}, 240min), critical({magnesium}, 240min)};
    const auto answer = district.ask(needs);
    CHECK(places_of(answer.chosen.value()) == Places{"hospital"});
    REQUIRE(answer.call_first.size() == 1);
    SUBCASE("nor does it lead when nobody can phone") {
        district.start.can_phone = false;
        const auto silent = district.ask(needs);
        CHECK(places_of(silent.chosen.value()) == Places{"hospital"});
        CHECK(mentions(silent.remarks, "referral.could_not_be_asked"));
    }
}

TEST_CASE(
    "A place counts as confirmed for what is confirmed there, and the rest is said to be open") {
    SmallDistrict district;
    district.unheard("x", {theatre, magnesium}).way("x", 40min);
    district.place("y", {theatre}).way("y", 90min);
    facilities::Service unheard;
    unheard.capability = magnesium;
    district.facility("y").services.push_back(unheard);
    district.start.can_phone = false;
    const auto answer =
        district.ask({critical({theatre}, 240min), need({magnesium}, std::nullopt)});
    CHECK(places_of(answer.chosen.value()) == Places{"y"});
    CHECK(mentions(answer.remarks, "referral.not_confirmed_there"));
    CHECK_FALSE(mentions(answer.remarks, "referral.not_given_there"));
}

TEST_CASE("With nothing confirmed, one place after the other is phoned") {
    SmallDistrict district;
    for (const auto& [id, minutes] :
         std::map<std::string, Seconds>{{"a", 40min}, {"b", 60min}, {"c", 80min}, {"d", 100min}}) {
        district.unheard(id, {theatre}).way(id, minutes);
    }
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(places_of(answer.chosen.value()) == Places{"a"});
    REQUIRE(answer.call_first.size() == 3);
    CHECK(answer.call_first[0].if_declined.value().value() == "b");
    CHECK(answer.call_first[1].if_declined.value().value() == "c");
    CHECK(answer.call_first[2].facility.value() == "c");
}

TEST_CASE("The health worker's own call gives the next place at once") {
    auto district = unheard_and_confirmed();
    const auto ask_with = [&](CallAnswer answer) {
        district.start.calls[FacilityId{"x"}] = answer;
        return district.ask({critical({theatre}, 120min)});
    };
    SUBCASE("accepted: go, nothing more to phone") {
        const auto answer = ask_with(CallAnswer::accepted);
        CHECK(places_of(answer.chosen.value()) == Places{"x"});
        CHECK_FALSE(answer.chosen->is_unconfirmed);
        CHECK(answer.call_first.empty());
    }
    SUBCASE("refused: Y, and the reason is given") {
        const auto answer = ask_with(CallAnswer::refused);
        CHECK(places_of(answer.chosen.value()) == Places{"y"});
        CHECK(reasons_against(answer, "x").front() == "referral.refused_on_the_phone");
    }
    SUBCASE("no answer: Y, and the reason is given") {
        const auto answer = ask_with(CallAnswer::no_answer);
        CHECK(places_of(answer.chosen.value()) == Places{"y"});
        CHECK(reasons_against(answer, "x").front() == "referral.no_answer_on_the_phone");
    }
    SUBCASE("refused by a place farther than the chosen one: still listed") {
        district.place("z", {theatre}).way("z", 110min);
        district.start.calls[FacilityId{"z"}] = CallAnswer::refused;
        const auto answer = district.ask({critical({theatre}, 120min)});
        CHECK(reasons_against(answer, "z") ==
              Places{"referral.refused_on_the_phone", "referral.care_begins_later"});
    }
}

TEST_CASE("Accepted on the phone does not make up for what is known to be missing") {
    SmallDistrict district;
    district.place("x", {theatre}).way("x", 40min).hear("x", theatre, false, ten);
    district.place("y", {theatre}).way("y", 90min);
    district.start.calls[FacilityId{"x"}] = CallAnswer::accepted;
    CHECK(places_of(district.ask({critical({theatre}, 120min)}).chosen.value()) == Places{"y"});
}

TEST_CASE("When nobody answers anywhere, she still goes somewhere") {
    SmallDistrict district;
    district.unheard("x", {theatre}).way("x", 40min);
    district.start.calls[FacilityId{"x"}] = CallAnswer::no_answer;
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(places_of(answer.chosen.value()) == Places{"x"});
    CHECK(mentions(answer.remarks, "referral.nobody_answered"));
}
