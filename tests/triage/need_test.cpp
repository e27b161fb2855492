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
        return std::any_of(assessment.withheld.begin(), assessment.withheld.end(),
                           [](const Withheld& one) {
                               return one.action.find("ergometrine") != std::string::npos &&
                                      !one.because.id.empty();
                           });
    };
    const auto given = [](const Assessment& assessment) {
        return std::any_of(assessment.do_now.begin(), assessment.do_now.end(),
                           [](const Instruction& one) {
                               return one.action.find("ergometrine") != std::string::npos;
                           });
    };
    const Assessment raised = assessed(bleeds + R"(, "sys_bp": 150, "dia_bp": 90, "pulse": 88})");
    CHECK(withheld(raised));
    CHECK_FALSE(given(raised));
    CHECK(withheld(assessed(bleeds + "}")));
    const Assessment usual = assessed(
        bleeds + R"(, "sys_bp": 118, "dia_bp": 72, "pulse": 88, "placenta_delivered": "yes",
                     "known_heart_disease": "no", "known_hypertension": "no"})");
    CHECK(given(usual));
}

}  // namespace
}  // namespace waybourne::triage
