#include "referral/referral_note.hpp"

#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

#include "referral/internal/page.hpp"
#include "tests/referral/small_district.hpp"

using namespace waybourne;
using namespace waybourne::referral;

namespace {

std::string read(const std::string& path) {
    std::ifstream file(std::string(WAYBOURNE_SOURCE_DIR) + "/" + path);
    std::stringstream text;
    text << file.rdbuf();
    return text.str();
}

Catalogue english() {
    return parse_catalogue(read("referral/texts.en.json"))
        .with(parse_catalogue(read("triage/protocol/texts.en.json")));
}

const NoteHeader header{"22222223", ten, "Hill clinic", "+000-1", "midwife", 2h};

triage::Findings raised_pressure() {
    triage::Findings findings;
    findings.values["status"] = std::string("pregnant");
    findings.values["gestation_weeks"] = 34.0;
    findings.values["age_years"] = 27.0;
    findings.values["severe_headache"] = triage::Answer::yes;
    findings.values["convulsions"] = triage::Answer::no;
    findings.values["chest_pain"] = triage::Answer::unknown;
    findings.values["previous_caesarean"] = triage::Answer::yes;
    findings.values["urine_protein"] = 2.0;
    findings.values["temp_c"] = 37.2;
    findings.values["safe_at_home"] = triage::Answer::no;
    findings.readings.push_back({ten - 5min, 165, 112, 96});
    return findings;
}

SmallDistrict two_hospitals() {
    SmallDistrict district;
    district.place("a", {Capability::magnesium_sulfate}).way("a", 60min, 70min);
    district.place("b", {Capability::magnesium_sulfate}).way("b", 90min, 110min);
    return district;
}

triage::Assessment pressure_assessment() {
    auto assessment = assessment_of({critical({Capability::magnesium_sulfate}, 240min)});
    assessment.protocol = {"sample", "3", "0123456789abcdef", false};
    triage::Suspicion suspicion;
    suspicion.condition = "severe_hypertension";
    suspicion.text = {"triage.suspect.very_high_pressure"};
    suspicion.because = {{"HTN-2", {Message{"triage.fact.severe_headache.yes"}}}};
    assessment.suspected = {suspicion};
    triage::Question question;
    question.fields = {"visual_disturbance"};
    assessment.questions = {question};
    return assessment;
}

std::vector<std::string> lines_of(const std::string& note) {
    std::vector<std::string> lines;
    std::stringstream stream(note);
    for (std::string line; std::getline(stream, line);) {
        lines.push_back(line);
    }
    return lines;
}

void check_fits_a_page(const std::string& note) {
    const auto lines = lines_of(note);
    CHECK(lines.size() <= note_page_lines);
    for (const std::string& line : lines) {
        CAPTURE(line);
        CHECK(columns_of(line) <= note_page_columns);
    }
}

/// Wherever the lines break.
bool has(std::string note, const std::string& words) {
    for (std::size_t at = 0; (at = note.find("\n  ", at)) != std::string::npos;) {
        note.replace(at, 3, " ");
    }
    return note.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("The note says who sends her where, what was found, what she needs and by when") {
    auto district = two_hospitals();
    const auto assessment = pressure_assessment();
    const auto answer = district.ask(assessment);
    const auto note = referral_note(header, raised_pressure(), assessment, answer,
                                    district.facilities(), english());
    check_fits_a_page(note);
    // Each part of clinical.md i.2, in its order.
    std::size_t at = 0;
    for (const char* part : {"REFERRAL NOTE",
                             "Case 22222223",
                             "Hill clinic",
                             "midwife",
                             "Place a",
                             "Spoken to:",
                             "not approved for use",
                             "SITUATION",
                             "27 years",
                             "pregnant",
                             "34 weeks",
                             "severe headache",
                             "BACKGROUND",
                             "Blood group:",
                             "ASSESSMENT",
                             "165/112",
                             "shock index 0.58",
                             "HTN-2",
                             "Not answered: change of sight",
                             "no fits",
                             "GIVEN",
                             "Medicine:",
                             "RECOMMENDATION",
                             "magnesium sulfate injection",
                             "critical",
                             "Place b",
                             "ON THE WAY",
                             "WITH HER",
                             "RETURN"}) {
        CAPTURE(part);
        const std::size_t found = note.find(part, at);
        REQUIRE(found != std::string::npos);
        at = found;
    }
    // Times are those of the clock there, two hours ahead: care by 14:00 UTC; it takes 70 minutes.
    CHECK(has(note, "Leave by 14:50"));
    CHECK(has(note, "be there by 16:00"));
    CHECK(has(note, "expected 13:00, at the latest about 13:10"));
    CHECK(has(note, "to begin by 16:00"));
    CHECK(has(note, "temperature 37.2 °C"));
    CHECK(has(note, "urine protein 2+"));
    // No text is missing from the catalogue, no placeholder left.
    CHECK_FALSE(has(note, "[referral."));
    CHECK_FALSE(has(note, "{"));
}

TEST_CASE("Whether she is safe at home is told, not written; what is unknown is not called a no") {
    auto district = two_hospitals();
    const auto assessment = pressure_assessment();
    const auto note = referral_note(header, raised_pressure(), assessment, district.ask(assessment),
                                    district.facilities(), english());
    CHECK_FALSE(has(note, "safe"));
    CHECK_FALSE(has(note, "chest pain"));
}

TEST_CASE("A note with everything on it still fits one page, and says what was cut") {
    auto district = two_hospitals();
    auto assessment = pressure_assessment();
    auto findings = raised_pressure();
    assessment.needs.clear();
    for (std::size_t index = 0; index < triage::capability_count; ++index) {
        assessment.needs.push_back(critical({static_cast<Capability>(index)}, 240min));
    }
    for (int index = 0; index < 40; ++index) {
        const std::string name = "a_long_name_of_a_sign_" + std::to_string(index);
        findings.values[name] = triage::Answer::yes;
        findings.values[name + "_measured"] = 12.5;
        findings.values[name + "_not"] = triage::Answer::no;
        findings.readings.push_back({ten - std::chrono::minutes{index}, 150, 95, 90});
        assessment.suspected.push_back(assessment.suspected.front());
        assessment.questions.push_back(assessment.questions.front());
    }
    district.facility("a").name = std::string(300, 'x');
    NoteHeader wide = header;
    wide.sending_site = std::string(500, 'y') + " é";
    const auto note = referral_note(wide, findings, assessment, district.ask(assessment),
                                    district.facilities(), english());
    check_fits_a_page(note);
    CHECK(has(note, "more"));
    for (const char* part : {"SITUATION", "BACKGROUND", "ASSESSMENT", "GIVEN", "RECOMMENDATION",
                             "ON THE WAY", "WITH HER", "RETURN"}) {
        CAPTURE(part);
        CHECK(has(note, part));
    }
}

TEST_CASE("What is not known yet is a line to fill in by hand") {
    auto district = two_hospitals();
    const auto assessment = pressure_assessment();
    const auto note = referral_note({}, {}, assessment, district.ask(assessment),
                                    district.facilities(), english());
    check_fits_a_page(note);
    CHECK(has(note, "Case  ___"));
    CHECK(has(note, "Age: ___"));
    CHECK(has(note, "No reading taken."));
}

TEST_CASE("When she stays, or there is nowhere to go, the note says so") {
    SmallDistrict district;
    auto assessment = pressure_assessment();
    const auto nowhere = referral_note(header, {}, assessment, district.ask(assessment),
                                       district.facilities(), english());
    CHECK(has(nowhere, "no place found yet"));
    assessment.needs.front().available_here = true;
    const auto stay = referral_note(header, {}, assessment, district.ask(assessment),
                                    district.facilities(), english());
    CHECK(has(stay, "no transfer"));
    CHECK(has(stay, "done here: magnesium sulfate injection"));
}

TEST_CASE("When she will be late the note says by how much") {
    auto district = two_hospitals();
    const auto assessment = assessment_of({critical({Capability::magnesium_sulfate}, 60min)});
    const auto note = referral_note(header, {}, assessment, district.ask(assessment),
                                    district.facilities(), english());
    CHECK(has(note, "LATE: care begins 10 min after a time limit"));
    CHECK_FALSE(has(note, "Leave by"));
}
