// Values that cannot be believed. Source: clinical specification a.3 and a.4 (proposals (c)).
#include <doctest/doctest.h>

#include "tests/triage/support.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::triage {
namespace {

std::vector<std::string> refused(const Assessment& assessment) {
    std::vector<std::string> words;
    for (const Refused& value : assessment.refused) {
        words.push_back(value.field + " " + value.given + " " + value.why.id);
    }
    return words;
}

std::string confirmed(const Assessment& assessment) {
    std::string words;
    for (const Refused& value : assessment.confirm) {
        words += value.field + " " + value.why.id + ";";
    }
    return words;
}

using Words = std::vector<std::string>;

TEST_CASE("The upper number must be at least five above the lower: else both are asked again") {
    CHECK(refused(assessed(R"({"sys_bp": 100, "dia_bp": 95, "pulse": 80})")).empty());
    CHECK(refused(assessed(R"({"sys_bp": 100, "dia_bp": 96, "pulse": 80})")) ==
          Words{"sys_bp 100 triage.refused.gap", "dia_bp 96 triage.refused.gap"});
}

TEST_CASE("Swapped numbers are never swapped back silently") {
    const Assessment swapped = assessed(R"({"sys_bp": 82, "dia_bp": 124, "pulse": 84})");
    CHECK(refused(swapped).size() == 2);
    CHECK_FALSE(swapped.within.has_value());
    SUBCASE("a low pair that cannot just be swapped acts as severe") {
        CHECK(minutes(assessed(R"({"sys_bp": 60, "dia_bp": 58, "pulse": 84})").within) == 60);
        CHECK(minutes(assessed(R"({"sys_bp": 50, "dia_bp": 80, "pulse": 84})").within) == 60);
    }
}

TEST_CASE("Each number is refused one step outside its limits and taken at them") {
    struct Limits {
        const char* field;
        double lowest;
        double highest;
        double step;
    };
    // Source: table a.3.
    const Limits table[] = {{"temp_c", 33, 43, 0.1},
                            {"resp_rate", 4, 70, 1},
                            {"spo2", 50, 100, 1},
                            {"hb_g_dl", 1.5, 20, 0.1},
                            {"fetal_heart_rate", 50, 220, 1},
                            {"blood_loss_ml", 0, 6000, 1},
                            {"gestation_weeks", 4, 45, 1},
                            {"days_postpartum", 0, 365, 1},
                            {"labour_hours", 0, 120, 1},
                            {"cervix_cm", 0, 10, 1},
                            {"second_stage_hours", 0, 24, 1},
                            {"membranes_hours", 0, 1500, 1},
                            {"placenta_minutes", 0, 1440, 1},
                            {"glucose_mmol_l", 0.5, 50, 0.1},
                            {"ketones_urine", 0, 4, 1},
                            {"urine_protein", 0, 4, 1},
                            {"age_years", 10, 60, 1},
                            {"weight_kg", 25, 200, 1}};
    for (const Limits& limits : table) {
        CAPTURE(limits.field);
        const auto is_refused = [&](double value) {
            Findings given;
            given.values[limits.field] = value;
            return !assessed(given).refused.empty();
        };
        CHECK_FALSE(is_refused(limits.lowest));
        CHECK_FALSE(is_refused(limits.highest));
        CHECK(is_refused(limits.lowest - limits.step));
        CHECK(is_refused(limits.highest + limits.step));
    }
    CHECK(refused(assessed(R"({"pulse": 29})")).size() == 1);
    CHECK(refused(assessed(R"({"pulse": 221})")).size() == 1);
    CHECK(refused(assessed(R"({"sys_bp": 281})")).size() == 1);
    CHECK(refused(assessed(R"({"dia_bp": 181})")).size() == 1);
}

TEST_CASE("A number in another unit is asked about, never converted") {
    CHECK(refused(assessed(R"({"temp_c": 101.3})")) ==
          Words{"temp_c 101.3 triage.wrong_unit.fahrenheit"});
    CHECK(assessed(R"({"hb_g_dl": 104})").refused.size() == 1);
    CHECK(assessed(R"({"hb_g_dl": 104})").refused.front().why.id.find("wrong_unit") !=
          std::string::npos);
    CHECK(assessed(R"({"glucose_mmol_l": 96})").refused.front().why.id.find("wrong_unit") !=
          std::string::npos);
}

TEST_CASE("Unusual numbers are taken and confirmed") {
    CHECK(confirmed(assessed(R"({"pulse": 171})")) == "pulse triage.confirm.outside;");
    CHECK(confirmed(assessed(R"({"pulse": 170})")).empty());
    CHECK(confirmed(assessed(R"({"sys_bp": 110, "dia_bp": 96})")) == "sys_bp triage.confirm.gap;");
    CHECK(confirmed(assessed(R"({"sys_bp": 110, "dia_bp": 95})")).empty());
}

TEST_CASE("A refused value never lowers the urgency of the rest") {
    const Assessment assessment = assessed(
        R"({"status": "postpartum", "bleeding": "heavy", "temp_c": 101.3, "sys_bp": 100})");
    CHECK(minutes(assessment.within) == 120);
}

TEST_CASE("A normal temperature answers the question about fever, but her yes wins") {
    // Source: PLA-7.
    const std::string low_flow = R"({"sys_bp": 104, "dia_bp": 66, "pulse": 98, "temp_c": 36.8,
        "status": "pregnant", "bleeding": "none", "constant_abdominal_pain": "no",
        "feels_unwell": "no")";
    CHECK_FALSE(assessed(low_flow + "}").within.has_value());
    CHECK(fires(assessed(low_flow + R"(, "fever_reported": "yes"})"), "SHK-2I"));
}

TEST_CASE(
    "Pregnant and days after birth: which is right is asked, the more urgent counts meanwhile") {
    // Source: PLA-5.
    const std::string bleeds = R"("bleeding": "heavy", "days_postpartum": 0)";
    const Assessment both =
        assessed("{\"status\": \"pregnant\", " + bleeds + "}", Questions::work_out);
    CHECK(both.refused.size() == 2);
    CHECK(both.asked.front() == "status");
    CHECK(fires(both, "APH-1"));  // as if pregnant
    CHECK(fires(both, "PPH-1"));  // as if after birth
}

TEST_CASE("Under twenty weeks with a fetal heart rate: the weeks count as given and as unknown") {
    // Source: PLA-6.
    const Assessment assessment =
        assessed(R"({"status": "pregnant", "gestation_weeks": 12, "fetal_heart_rate": 90})",
                 Questions::work_out);
    REQUIRE(assessment.refused.size() == 1);
    CHECK(assessment.refused.front().field == "gestation_weeks");
    CHECK(fires(assessment, "FET-4"));
}

/// The one error of findings that are refused.
FieldError error_of(const Findings& given) {
    try {
        assessed(given);
    } catch (const InputError& error) {
        REQUIRE(error.fields().size() == 1);
        return error.fields().front();
    }
    return {"", "no error"};
}

TEST_CASE("A field nobody knows is refused with the nearest one that is known") {
    CHECK(error_of(findings(R"({"sever_headache": "yes"})")) ==
          FieldError{"#/findings/sever_headache",
                     "is not a field of this protocol; did you mean 'severe_headache'?"});
    CHECK(error_of(findings(R"({"bleeding": "heavey"})")).detail.find("'heavy'") !=
          std::string::npos);
}

TEST_CASE("A value of the wrong kind is refused, and says what is expected") {
    CHECK(error_of(findings(R"({"temp_c": "hot"})")).pointer == "#/findings/temp_c");
    CHECK(error_of(findings(R"({"convulsions": 3})")).detail ==
          "is a number where an answer is expected");
    CHECK(error_of(findings(R"({"urine_protein": 1.5})")).detail == "1.5 is not a whole number");
    Findings given;
    given.values["sys_bp"] = 120.0;
    CHECK(error_of(given).detail.find("readings") != std::string::npos);
    given.values = {{"temp_c", std::numeric_limits<double>::quiet_NaN()}};
    CHECK(error_of(given).pointer == "#/findings/temp_c");
}

TEST_CASE("Nothing can have been measured in the future") {
    Findings given;
    given.readings.push_back({test_now + 1s, 120, 80, 80});
    CHECK(error_of(given).pointer == "#/readings/0/taken_at");
    given.readings.front().taken_at = test_now;
    given.at = test_now + 1min;
    CHECK(error_of(given).pointer == "#/at");
}

TEST_CASE("All errors are told at once") {
    Findings given = findings(R"({"nonsense_field": 1, "bleeding": "lots", "temp_c": "hot"})");
    given.at = test_now + 1min;
    try {
        assessed(given);
        FAIL("was accepted");
    } catch (const InputError& error) {
        CHECK(error.fields().size() == 4);
    }
}

TEST_CASE("An endless list of readings is refused") {
    Findings given;
    given.readings.assign(49, Reading{test_now, 120, 80, 80});
    CHECK(error_of(given).pointer == "#/readings");
}

}  // namespace
}  // namespace waybourne::triage
