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
    // Ridge track 11.4 km at 11 km/h (track, gravel, 20 x 0.55 in the wet) 62.2; Ammovreth road
    // 10.8 km at 13.75 (gravel) 47.1 and 10.6 km at 32 (asphalt) 19.9: 129.2 minutes.
    CHECK(minutes(stage.travel_time.typical) == 129);
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
    SUBCASE("the post behind the brook is nearer, but its ford is closed too") {
        CHECK(why_not(recommendation, "zhelappu-health-post").find("no way") != std::string::npos);
    }
}

TEST_CASE("The same woman in the dry drives through the ford to Sorvrith") {
    const auto [assessment, recommendation] = district().answer(raised_pressure(Surface::dry));
    CHECK(recommendation.outcome == Outcome::in_time);
    REQUIRE(recommendation.chosen);
    CHECK(places(*recommendation.chosen) == "sorvrith-hospital");
    // Ford road 15.9 km at 40 km/h 23.8, Valley road 26.5 km at 60 26.5, trunk road 7.4 km at
    // 80 5.5.
    CHECK(minutes(recommendation.chosen->stages.front().travel_time.typical) == 56);
    CHECK(minutes(recommendation.chosen->stages.front().travel_time.allow) == 65);
    CHECK(why_not(recommendation, "nolluvish-health-centre").find("operative delivery") !=
          std::string::npos);
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
    // Orchard road 13.4 km at 34 km/h (40 x 0.85 at night) 23.7, Pellumvo road 6.9 km
    // at 38.25 10.8, trunk road 17.1 km at 73.6 13.9: 48.4 minutes, and a few steps at each end.
    CHECK(minutes(stage.travel_time.typical) == 49);
    CHECK(minutes(stage.travel_time.allow) == 57);
    // 15 to get ready, 57 on the way, 14 to hand over: 86 of 120.
    REQUIRE(stage.margin);
    CHECK(minutes(*stage.margin) == 34);
    const std::string why = why_not(recommendation, "pellumvo-hospital");
    CHECK(why.find("no surgeon until 07:00") != std::string::npos);
    CHECK(
        why_not(recommendation, "issolvu-health-centre").find("blood transfusion is not offered") !=
        std::string::npos);
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
    // East bank road 13.3 km at 52.8 km/h (60 x 0.88 at night).
    CHECK(minutes(first.travel_time.typical) == 15);
    CHECK(minutes(first.travel_time.allow) == 20);
    // 15 to get ready, 20 on the way, 14 to hand over: 49 of 60.
    REQUIRE(first.margin);
    CHECK(minutes(*first.margin) == 11);
    // East bank road 38.0 km at 52.8 km/h 43.2, trunk road 16.2 km at 73.6 13.2: 56.5 minutes.
    CHECK(minutes(second.travel_time.typical) == 57);
    CHECK(minutes(second.travel_time.allow) == 65);
    // 48.8 until care at Druvaneth, 20 there, 64.7 on the way, 14 to hand over: 147.5 of 240.
    REQUIRE(second.margin);
    CHECK(minutes(*second.margin) == 93);
}

TEST_CASE("The same fits while the ferry sails: straight across to Sorvrith") {
    const Instant morning = parse_rfc3339("2026-07-08T09:57:00Z");
    const auto [assessment, recommendation] = district().answer(fits(morning, Light::day));
    CHECK(recommendation.outcome == Outcome::in_time);
    REQUIRE(recommendation.chosen);
    REQUIRE(places(*recommendation.chosen) == "sorvrith-hospital");
    const referral::Stage& stage = recommendation.chosen->stages.front();
    // She leaves at 10:12; 4.4 km at 60 km/h; the boat of 10:20; 6 minutes; 7.4 km at 60: 10:33.
    CHECK(to_rfc3339(stage.arrival.typical).substr(11, 5) == "10:33");
    REQUIRE(stage.margin);
    CHECK(minutes(*stage.margin) == 6);
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
