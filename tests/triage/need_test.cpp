// What the rules that fire ask for together. Source: clinical specification e.4 and e.8.
#include <doctest/doctest.h>

#include <algorithm>

#include "tests/triage/support.hpp"

namespace waybourne::triage {
namespace {

using enum Capability;

bool cautions(const Assessment& assessment, const std::string& text) {
    return std::any_of(assessment.cautions.begin(), assessment.cautions.end(),
                       [&](const Message& caution) { return caution.id == text; });
}

bool instructs(const Assessment& assessment, const std::string& text) {
    return std::any_of(assessment.do_now.begin(), assessment.do_now.end(),
                       [&](const Instruction& one) { return one.text.id == text; });
}

bool gives(const Assessment& assessment, const std::string& action) {
    return std::any_of(assessment.do_now.begin(), assessment.do_now.end(),
                       [&](const Instruction& one) { return one.action == action; });
}

/// The text ids of the reasons for which it is not given.
std::vector<std::string> why_withheld(const Assessment& assessment, const std::string& action) {
    std::vector<std::string> reasons;
    for (const Withheld& one : assessment.withheld) {
        if (one.action == action) {
            reasons.push_back(one.because.id);
        }
    }
    return reasons;
}

using Reasons = std::vector<std::string>;

const std::string severe = R"({"status": "pregnant", "gestation_weeks": 36, "avpu": "A",
    "convulsions": "no", "bleeding": "none", "sys_bp": 172, "dia_bp": 114, "pulse": 88})";

TEST_CASE("Each need has the earliest time of the rules that ask for it, the answer that of all") {
    // WC-34: LAB-1 in 240 minutes and LAB-2 in 120 both ask for a caesarean; only LAB-1 asks for
    // help with the birth.
    const Assessment assessment = assessed(R"({"status": "in_labour", "gestation_weeks": 40,
        "labour_hours": 16, "second_stage_hours": 3, "sys_bp": 116, "dia_bp": 74, "pulse": 104})");
    REQUIRE(need_for(assessment, {operative_delivery}) != nullptr);
    CHECK(minutes(need_for(assessment, {operative_delivery})->within) == 120);
    CHECK(need_for(assessment, {operative_delivery})->deadline == test_now + 120min);
    CHECK(minutes(need_for(assessment, {assisted_vaginal_delivery})->within) == 240);
    CHECK(assessment.earliest_deadline == test_now + 120min);
    CHECK(need_for(assessment, {operative_delivery})->for_rules ==
          std::vector<std::string>{"LAB-2", "LAB-1"});
}

TEST_CASE("Where any of three would do and any of two must, only the two are asked for") {
    // HTN-1 takes any drug for pressure, within a day; HTN-2 only the two quick ones, critically.
    const Assessment assessment = assessed(severe);
    const CapabilitySet quick{parenteral_antihypertensive, rapid_oral_antihypertensive};
    REQUIRE(need_for(assessment, quick) != nullptr);
    CHECK(need_for(assessment, quick)->critical);
    CHECK(minutes(need_for(assessment, quick)->within) == 240);
    CHECK(need_for(assessment, quick | CapabilitySet{oral_antihypertensive}) == nullptr);
}

TEST_CASE("Critical needs come first, then the most pressing") {
    const Assessment assessment = assessed(severe);
    const auto key = [](const Need& need) { return std::pair(!need.critical, *need.within); };
    CHECK(std::is_sorted(assessment.needs.begin(), assessment.needs.end(),
                         [&](const Need& a, const Need& b) { return key(a) < key(b); }));
}

TEST_CASE("Time runs from when the findings were complete") {
    Findings given = findings(severe);
    given.at = test_now - 30min;
    CHECK(assessed(given).earliest_deadline == test_now + 210min);
}

TEST_CASE("What this clinic can give is marked, and she is sent for the rest") {
    // Source: COM-8.
    Findings given = findings(severe);
    given.available_here = {magnesium_sulfate};
    const Assessment assessment = assessed(given);
    CHECK(assessment.refer);
    CHECK(need_for(assessment, {magnesium_sulfate})->available_here);
    CHECK_FALSE(need_for(assessment, {operative_delivery})->available_here);
    CHECK(instructs(assessment, "triage.do_here_first"));
}

TEST_CASE("When everything can be given here she stays, is treated in time and measured again") {
    Findings given = findings(R"({"status": "postpartum", "bleeding": "heavy", "sys_bp": 118,
        "dia_bp": 72, "pulse": 88, "days_postpartum": 0})");
    CHECK(assessed(given).refer);
    CHECK(assessed(given).leave_now);
    given.available_here = {uterotonics, iv_fluids, tranexamic_acid, uterine_tamponade,
                            blood_transfusion};
    const Assessment assessment = assessed(given);
    CHECK_FALSE(assessment.refer);
    CHECK_FALSE(assessment.leave_now);
    CHECK(minutes(assessment.within) == 120);
    CHECK(instructs(assessment, "triage.treat_here"));
    CHECK(assessment.on_the_way.empty());
    CHECK(assessment.measure_again.has_value());
}

TEST_CASE("A milder suspicion is not shown beside the graver one, but its needs count") {
    // HTN-2 hides HTN-1, which alone asks for nothing HTN-2 lacks; HTN-1F is not hidden.
    const Assessment assessment = assessed(severe);
    CHECK(fires(assessment, "HTN-1"));
    for (const Suspicion& suspicion : assessment.suspected) {
        for (const Because& because : suspicion.because) {
            CHECK(because.rule != "HTN-1");
        }
    }
}

TEST_CASE("Each suspicion says what it rests on: the figure found and the limit it passes") {
    const Assessment assessment = assessed(severe);
    const auto shown =
        std::find_if(assessment.suspected.begin(), assessment.suspected.end(),
                     [](const Suspicion& s) { return s.because.front().rule == "HTN-2"; });
    REQUIRE(shown != assessment.suspected.end());
    CHECK(shown->because.front().facts ==
          std::vector<Message>{{"triage.fact.sys_bp", {{"value", "172"}, {"limit", "160"}}},
                               {"triage.fact.dia_bp", {{"value", "114"}, {"limit", "110"}}}});
    CHECK_FALSE(shown->sources.empty());
}

TEST_CASE("Nothing found is said only when everything that is always asked has been answered") {
    // Source: e.5 and e.8; never "safe", "normal" or "no risk".
    const std::string well = R"("avpu": "A", "convulsions": "no", "bleeding": "none",
        "gestation_weeks": 34, "sys_bp": 118, "dia_bp": 72, "pulse": 80})";
    const Assessment asked = assessed(R"({"status": "pregnant", )" + well);
    CHECK(cautions(asked, "triage.nothing_found"));
    CHECK_FALSE(asked.refer);
    CHECK_FALSE(asked.within.has_value());
    CHECK_FALSE(asked.earliest_deadline.has_value());
    const Assessment open = assessed("{" + well);
    CHECK(cautions(open, "triage.ask_first"));
    CHECK_FALSE(cautions(open, "triage.nothing_found"));
    SUBCASE("nor when the only reading was refused, or the age cannot be right") {
        CHECK(cautions(assessed(R"({"status": "pregnant", "avpu": "A", "convulsions": "no",
            "bleeding": "none", "sys_bp": 100, "dia_bp": 98, "pulse": 80})"),
                       "triage.ask_first"));
        CHECK(cautions(assessed(R"({"status": "pregnant", "age_years": 9, )" + well),
                       "triage.ask_first"));
    }
}

TEST_CASE("Until somebody signs the protocol every answer says so") {
    const Assessment assessment = assessed("{}");
    CHECK(cautions(assessment, "triage.not_approved"));
    CHECK_FALSE(assessment.protocol.approved);
    CHECK(assessment.protocol.sha256.size() == 64);
    Protocol signed_protocol = shipped_protocol();
    signed_protocol.approved_by = Approval{"A. Clinician", "clinical lead", test_now};
    CHECK_FALSE(cautions(assess(signed_protocol, {}, test_now), "triage.not_approved"));
}

TEST_CASE("A drug that must not be given is taken out, with the reason") {
    // Source: e.6.6: ergometrine never with raised pressure or when pressure is unknown (MCPC,
    // mem).
    const std::string bleeds = R"({"status": "postpartum", "bleeding": "heavy",
        "days_postpartum": 0)";
    const auto withheld = [](const Assessment& assessment) {
        return !why_withheld(assessment, "D3.ergometrine").empty();
    };
    const auto given = [](const Assessment& assessment) {
        return gives(assessment, "D3.ergometrine");
    };
    const Assessment raised = assessed(bleeds + R"(, "sys_bp": 150, "dia_bp": 90, "pulse": 88})");
    CHECK(withheld(raised));
    CHECK_FALSE(given(raised));
    CHECK(withheld(assessed(bleeds + "}")));
    const Assessment usual = assessed(
        bleeds + R"(, "sys_bp": 118, "dia_bp": 72, "pulse": 88, "placenta_delivered": "yes",
                     "known_heart_disease": "no", "known_hypertension": "no"})");
    CHECK(given(usual));
    SUBCASE("never with a retained placenta: nor while nobody has said that it is out") {
        const std::string measured = bleeds + R"(, "sys_bp": 118, "dia_bp": 72, "pulse": 88)";
        CHECK(why_withheld(assessed(measured + "}"), "D3.ergometrine") ==
              Reasons{"triage.withheld.placenta_not_out"});
    }
}

TEST_CASE("What is only for after birth waits while it is in doubt whether she has given birth") {
    // Source: PLA-5: both ways of reading count for what she needs. A medicine that makes the womb
    // contract is for one of the two only (c.3, D3: after birth).
    for (const std::string entered :
         {R"({"status": "pregnant", "gestation_weeks": 38, "days_postpartum": 0,
              "bleeding": "heavy", "sys_bp": 110, "dia_bp": 70, "pulse": 80})",
          R"({"status": "in_labour", "days_postpartum": 0, "bleeding": "heavy",
              "uterus_soft": "yes"})",
          R"({"status": "postpartum", "fetal_movement": "reduced", "bleeding": "heavy"})"}) {
        CAPTURE(entered);
        const Assessment assessment = assessed(entered);
        CHECK(need_for(assessment, {uterotonics}) != nullptr);
        CHECK(instructs(assessment, "triage.action.A12"));
        for (const std::string of_birth :
             {"A7", "D3.oxytocin", "D3.misoprostol", "D3.ergometrine", "D4.tranexamic_acid"}) {
            CHECK_MESSAGE(!gives(assessment, of_birth), of_birth);
        }
        CHECK(why_withheld(assessment, "A7") == Reasons{"triage.withheld.status_in_doubt"});
    }
    const Assessment clear = assessed(R"({"status": "postpartum", "bleeding": "heavy"})");
    CHECK(gives(clear, "A7"));
    CHECK(gives(clear, "D3.oxytocin"));
}

TEST_CASE("Misoprostol for a loss is shown only when the loss is confirmed") {
    // Source: A10: only where tissue has been seen or the loss is confirmed, and ectopic pregnancy
    // is excluded: the pregnancy may be living.
    const std::string bleeds = R"("gestation_weeks": 9, "bleeding": "light", "sys_bp": 116,
        "dia_bp": 70, "pulse": 80)";
    const Assessment threatened = assessed(R"({"status": "pregnant", )" + bleeds + "}");
    CHECK_FALSE(gives(threatened, "D3.misoprostol_loss"));
    CHECK(why_withheld(threatened, "D3.misoprostol_loss") ==
          Reasons{"triage.withheld.loss_not_confirmed"});
    const std::string lost = R"({"status": "post_abortion", "bleeding": "light")";
    CHECK(gives(assessed(lost + "}"), "D3.misoprostol_loss"));
    SUBCASE("nor then where an ectopic pregnancy is suspected") {
        CHECK(
            why_withheld(assessed(lost + R"(, "shoulder_pain": "yes"})"), "D3.misoprostol_loss") ==
            Reasons{"triage.withheld.ectopic_not_excluded"});
    }
}

TEST_CASE("Whenever magnesium is asked for, its dose is shown; under 20 weeks only then") {
    // Source: ECL-1 leaves out a fit under 20 weeks only with a pressure known to be normal; ECL-4
    // has no lower limit of weeks.
    for (const std::string entered :
         {R"({"status": "pregnant", "gestation_weeks": 12, "convulsions": "yes", "sys_bp": 172,
              "dia_bp": 114, "pulse": 88})",
          R"({"status": "pregnant", "gestation_weeks": 12, "convulsions": "yes"})",
          R"({"status": "pregnant", "gestation_weeks": 16, "avpu": "V", "sys_bp": 170,
              "dia_bp": 112, "pulse": 88})"}) {
        CAPTURE(entered);
        const Assessment assessment = assessed(entered);
        REQUIRE(need_for(assessment, {magnesium_sulfate}) != nullptr);
        CHECK(gives(assessment, "D1.loading"));
        CHECK(gives(assessment, "D1.antidote"));
    }
    const Assessment other_cause = assessed(R"({"status": "pregnant", "gestation_weeks": 12,
        "convulsions": "yes", "sys_bp": 116, "dia_bp": 70, "pulse": 88})");
    CHECK(need_for(other_cause, {magnesium_sulfate}) == nullptr);
    CHECK_FALSE(gives(other_cause, "D1.loading"));
    const Assessment pressure_alone = assessed(R"({"status": "pregnant", "gestation_weeks": 12,
        "sys_bp": 172, "dia_bp": 114, "pulse": 88})");
    CHECK_FALSE(gives(pressure_alone, "D1.loading"));
}

TEST_CASE("No dose of magnesium stands beside the words that no further magnesium is given") {
    // Source: D1: each dose only if breathing is at least 16 (product information, (a)).
    const Assessment slow = assessed(R"({"status": "pregnant", "gestation_weeks": 30,
        "convulsions": "yes", "resp_rate": 10, "sys_bp": 170, "dia_bp": 112, "pulse": 88})");
    for (const std::string further : {"D1.maintenance", "D1.another_fit"}) {
        CHECK_MESSAGE(!gives(slow, further), further);
        CHECK(why_withheld(slow, further) == Reasons{"triage.withheld.magnesium_breathing"});
    }
    CHECK(gives(slow, "D1.antidote"));
}

TEST_CASE("Bleeding before birth: no examination inside, also while her status is not known") {
    // Source: e.6.8 and a.3 (cervix_cm); a.5: an unknown status is not excluded.
    for (const std::string status :
         {R"("status": "pregnant", )", R"("status": "in_labour", )", ""}) {
        const Assessment assessment =
            assessed("{" + status + R"("bleeding": "light", "cord_visible": "yes"})");
        CHECK(cautions(assessment, "triage.caution.no_vaginal_examination"));
        CHECK(std::find(assessment.asked.begin(), assessment.asked.end(), "cervix_cm") ==
              assessment.asked.end());
    }
    CHECK_FALSE(cautions(assessed(R"({"status": "postpartum", "bleeding": "light"})"),
                         "triage.caution.no_vaginal_examination"));
}

TEST_CASE("Bleeding after a very high pressure counts as low pressure, whatever is measured now") {
    // Source: e.6.1 (c): high pressure can hide blood loss in pre-eclampsia.
    const std::string bleeds =
        R"({"status": "postpartum", "days_postpartum": 0, "bleeding": "light",
        "placenta_delivered": "yes", "avpu": "A", "convulsions": "no", "temp_c": 36.8,
        "constant_abdominal_pain": "no", "feels_unwell": "no")";
    const auto with_readings = [&](const std::vector<std::pair<int, int>>& pressures) {
        Findings given = findings(bleeds + "}");
        Instant taken_at = test_now - 45min;
        for (const auto& [systolic, diastolic] : pressures) {
            given.readings.push_back({taken_at, systolic, diastolic, 76});
            taken_at += 20min;
        }
        return assessed(given);
    };
    const auto fires = [](const Assessment& assessment, const std::string& rule) {
        return std::find(assessment.fired.begin(), assessment.fired.end(), rule) !=
               assessment.fired.end();
    };
    const Assessment usual = with_readings({{118, 76}, {116, 76}, {118, 74}});
    CHECK_FALSE(fires(usual, "SHK-2B"));
    CHECK(gives(usual, "D3.ergometrine"));
    const Assessment fell = with_readings({{165, 105}, {118, 76}, {116, 76}});
    CHECK(fires(fell, "SHK-2B"));
    CHECK(need_for(fell, {blood_transfusion}) != nullptr);
    CHECK_FALSE(gives(fell, "D3.ergometrine"));
    CHECK(fires(assessed(bleeds + R"(, "sys_bp": 116, "dia_bp": 76, "pulse": 76,
                                     "pressure_was_severe": "yes"})"),
                "SHK-2B"));
}

TEST_CASE("Two contradictions are read together: neither hides what the other lets show") {
    // Postpartum with a fetal heart (PLA-5), and few weeks with a fetal heart (PLA-6): if she is
    // pregnant after all, the weeks count as not known, and a heart of 80 is fetal distress
    // (FET-4).
    const Assessment assessment =
        assessed(R"({"status": "postpartum", "gestation_weeks": 12, "fetal_heart_rate": 80})");
    CHECK(std::find(assessment.fired.begin(), assessment.fired.end(), "FET-4") !=
          assessment.fired.end());
    CHECK(minutes(assessment.within) == 60);
}

}  // namespace
}  // namespace waybourne::triage
