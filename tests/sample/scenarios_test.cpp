/// The three stories of maps-sample/README.md, through every room: the map file, the roads, the
/// facilities as last heard of, the protocol, the choice.
///
/// Lengths are those of maps-sample/roads.osm, speeds those of routing/data/speeds.json (their
/// sources stand there); the reckoning of each figure stands beside it and in README.md. Allowed
/// times by design.md section 5: M * exp(1.2816 * sqrt(ln(1 + V / M^2))).

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/sample/sample_district.hpp"

namespace waybourne::sample {

namespace {

using referral::Choice;
using referral::Outcome;
using referral::PassedOver;
using routing::Light;
using routing::Surface;
using triage::Answer;

const SampleDistrict& district() {
    static const SampleDistrict loaded;
    return loaded;
}

/// To the nearest minute, as README.md gives them.
int minutes(Seconds span) {
    const bool is_negative = span < Seconds{0};
    const auto size = static_cast<int>((is_negative ? -span : span).count());
    return (is_negative ? -1 : 1) * ((size + 30) / 60);
}

/// The places of a plan in order, `a > b`.
std::string places(const Choice& choice) {
    std::string text;
    for (const referral::Stage& stage : choice.stages) {
        text += (text.empty() ? "" : " > ") + stage.facility.value();
    }
    return text;
}

bool has_place(const std::vector<Choice>& choices, const std::string& wanted) {
    return std::any_of(choices.begin(), choices.end(),
                       [&](const Choice& choice) { return places(choice) == wanted; });
}

/// The words why a place was passed over; empty when it was not.
std::string why_not(const referral::Recommendation& recommendation, const std::string& id) {
    for (const PassedOver& passed : recommendation.passed_over) {
        if (passed.facility.value() == id) {
            return district().words(passed.reasons);
        }
    }
    return "";
}

triage::Findings findings(Instant now, int systolic, int diastolic, int pulse) {
    triage::Findings findings;
    findings.readings.push_back({now - 5min, systolic, diastolic, pulse});
    return findings;
}

/// Wet season, a Wednesday morning: 165/112, 34 weeks, severe headache, at the hill clinic.
Case raised_pressure(Surface surface) {
    Case woman;
    woman.at_facility = "kezhiru-clinic";
    woman.now = parse_rfc3339("2026-03-04T10:00:00Z");
    woman.conditions = {surface, Light::day};
    woman.findings = findings(woman.now, 165, 112, 96);
    woman.findings.values = {{"status", std::string{"pregnant"}},
                             {"gestation_weeks", 34.0},
                             {"avpu", std::string{"A"}},
                             {"convulsions", Answer::no},
                             {"bleeding", std::string{"none"}},
                             {"severe_headache", Answer::yes},
                             {"urine_protein", 2.0},
                             {"temp_c", 37.2}};
    woman.findings.available_here = {triage::Capability::oral_antihypertensive};
    return woman;
}

/// One hour after birth, 700 mL, womb soft, at the Luzhenni clinic, which has oxytocin and drips.
Case bleeding_after_birth(Instant now, Light light) {
    Case woman;
    woman.at_facility = "luzhenni-clinic";
    woman.now = now;
    woman.conditions = {Surface::dry, light};
    woman.findings = findings(woman.now, 112, 70, 98);
    woman.findings.values = {{"status", std::string{"postpartum"}},
                             {"days_postpartum", 0.0},
                             {"avpu", std::string{"A"}},
                             {"convulsions", Answer::no},
                             {"bleeding", std::string{"heavy"}},
                             {"blood_loss_ml", 700.0},
                             {"placenta_delivered", Answer::yes},
                             {"uterus_soft", Answer::yes},
                             {"temp_c", 36.9}};
    woman.findings.available_here = {triage::Capability::uterotonics,
                                     triage::Capability::iv_fluids};
    return woman;
}

/// 36 weeks, fits, drowsy, 172/114, at the Tamvrelo clinic on the east bank.
Case fits(Instant now, Light light) {
    Case woman;
    woman.at_facility = "tamvrelo-clinic";
    woman.now = now;
    woman.conditions = {Surface::dry, light};
    woman.findings = findings(woman.now, 172, 114, 104);
    woman.findings.values = {{"status", std::string{"pregnant"}}, {"gestation_weeks", 36.0},
                             {"avpu", std::string{"V"}},          {"convulsions", Answer::yes},
                             {"bleeding", std::string{"none"}},   {"temp_c", 37.4}};
    woman.findings.available_here = {triage::Capability::oral_antihypertensive,
                                     triage::Capability::iv_fluids};
    return woman;
}

}  // namespace

TEST_CASE(
    "Very high pressure at the hill clinic in the wet: the ford is closed, so over the ridge "
    "to Venzhoth") {
    const auto [assessment, recommendation] = district().answer(raised_pressure(Surface::wet));
    // Rules HTN-2, HTN-2M, HTN-2D, PET-2, PET-2D: 240 minutes (common practice, no source).
    CHECK(assessment.within == 240min);
    CHECK_FALSE(assessment.leave_now);
    CHECK(recommendation.outcome == Outcome::in_time);
    REQUIRE(recommendation.chosen);
    CHECK(places(*recommendation.chosen) == "venzhoth-hospital");
    const referral::Stage& stage = recommendation.chosen->stages.front();
    CHECK(minutes(stage.travel_time.typical) == 130);
    CHECK(minutes(stage.travel_time.allow) == 156);
    // 30 to get ready, 156 on the way, 14 to hand over: 200 of 240.
    REQUIRE(stage.margin);
    CHECK(minutes(*stage.margin) == 40);
    SUBCASE("the health centre on the way has neither theatre nor magnesium sulfate left") {
        const std::string why = why_not(recommendation, "ammovreth-health-centre");
        CHECK(why.find("operative") != std::string::npos);
        CHECK(why.find("magnesium") != std::string::npos);
    }
    SUBCASE("the district hospital beyond the long bridge comes second") {
        CHECK(has_place(recommendation.alternatives, "sorvrith-hospital"));
    }
}

TEST_CASE("The same woman in the dry drives through the ford to Sorvrith") {
    const auto [assessment, recommendation] = district().answer(raised_pressure(Surface::dry));
    CHECK(recommendation.outcome == Outcome::in_time);
    REQUIRE(recommendation.chosen);
    CHECK(places(*recommendation.chosen) == "sorvrith-hospital");
    CHECK(minutes(recommendation.chosen->stages.front().travel_time.typical) == 56);
    CHECK(minutes(recommendation.chosen->stages.front().travel_time.allow) == 65);
    CHECK_FALSE(why_not(recommendation, "nolluvish-health-centre").empty());
}

TEST_CASE("Bleeding after birth at night: Pellumvo is near, but nobody can operate until 07:00") {
    const Instant night = parse_rfc3339("2026-07-08T01:30:00Z");
    const auto [assessment, recommendation] =
        district().answer(bleeding_after_birth(night, Light::night));
    // Rule PPH-1: 120 minutes, at once (WHO 500 mL; minutes are a proposal).
    CHECK(assessment.within == 120min);
    CHECK(assessment.leave_now);
    CHECK(recommendation.outcome == Outcome::in_time);
    REQUIRE(recommendation.chosen);
    CHECK(places(*recommendation.chosen) == "sorvrith-hospital");
    const referral::Stage& stage = recommendation.chosen->stages.front();
    CHECK(minutes(stage.travel_time.typical) == 49);
    CHECK(minutes(stage.travel_time.allow) == 57);
    // 15 to get ready, 57 on the way, 14 to hand over: 86 of 120.
    REQUIRE(stage.margin);
    CHECK(minutes(*stage.margin) == 34);
    const std::string why = why_not(recommendation, "pellumvo-hospital");
    CHECK(why.find("07:00") != std::string::npos);
    CHECK_FALSE(why_not(recommendation, "issolvu-health-centre").empty());
}

TEST_CASE("The same bleeding at half past ten in the morning stays near, at Pellumvo") {
    const Instant morning = parse_rfc3339("2026-07-08T10:30:00Z");
    const auto [assessment, recommendation] =
        district().answer(bleeding_after_birth(morning, Light::day));
    CHECK(recommendation.outcome == Outcome::in_time);
    REQUIRE(recommendation.chosen);
    CHECK(places(*recommendation.chosen) == "pellumvo-hospital");
}

TEST_CASE(
    "Fits on the east bank after the last ferry: magnesium sulfate at Druvaneth first, then "
    "over the bridge to Venzhoth") {
    const Instant evening = parse_rfc3339("2026-07-08T19:40:00Z");
    const auto [assessment, recommendation] = district().answer(fits(evening, Light::night));
    // Rule ECL-1: 60 minutes, at once (PCPNC; minutes are a proposal); ECL-2: birth within 240.
    CHECK(assessment.within == 60min);
    CHECK(assessment.leave_now);
    CHECK(recommendation.outcome == Outcome::in_time);
    REQUIRE(recommendation.chosen);
    REQUIRE(places(*recommendation.chosen) == "druvaneth-health-centre > venzhoth-hospital");
    const referral::Stage& first = recommendation.chosen->stages[0];
    const referral::Stage& second = recommendation.chosen->stages[1];
    const auto gets = [](const referral::Stage& stage, triage::Capability capability) {
        return std::find(stage.meets.begin(), stage.meets.end(), capability) != stage.meets.end();
    };
    CHECK(gets(first, triage::Capability::magnesium_sulfate));
    CHECK(gets(second, triage::Capability::operative_delivery));
    CHECK(minutes(first.travel_time.typical) == 15);
    CHECK(minutes(first.travel_time.allow) == 20);
    // 15 to get ready, 20 on the way, 14 to hand over: 49 of 60.
    REQUIRE(first.margin);
    CHECK(minutes(*first.margin) == 11);
    CHECK(minutes(second.travel_time.typical) == 56);
    CHECK(minutes(second.travel_time.allow) == 65);
    // 49 until care at Druvaneth, 20 there, 65 on the way, 14 to hand over: 148 of 240.
    REQUIRE(second.margin);
    CHECK(minutes(*second.margin) == 92);
}

TEST_CASE("The same fits while the ferry sails: straight across to Sorvrith") {
    const Instant morning = parse_rfc3339("2026-07-08T09:58:00Z");
    const auto [assessment, recommendation] = district().answer(fits(morning, Light::day));
    CHECK(recommendation.outcome == Outcome::in_time);
    REQUIRE(recommendation.chosen);
    CHECK(places(*recommendation.chosen) == "sorvrith-hospital");
}

TEST_CASE("A ferry that has left for the night is waited for until morning") {
    // By the bridge 99 minutes at night; the first ferry leaves at 06:00.
    const routing::RoadConditions night{Surface::dry, Light::night};
    const auto evening = district().travel_time("tamvrelo-clinic", "sorvrith-hospital", night,
                                                parse_rfc3339("2026-07-08T19:55:00Z"));
    REQUIRE(evening);
    CHECK(minutes(evening->typical) == 99);
    // At 05:30 it pays to wait: 4 km to the landing, 06:00, 6 minutes across, 8 km to the town.
    const auto early = district().travel_time("tamvrelo-clinic", "sorvrith-hospital", night,
                                              parse_rfc3339("2026-07-09T05:30:00Z"));
    REQUIRE(early);
    CHECK(minutes(early->typical) < 60);
}

}  // namespace waybourne::sample
