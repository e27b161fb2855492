#include "coverage/indicator.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

const IndicatorProfile& un_2009() {
    static const IndicatorProfile profile = [] {
        std::ifstream file(std::string(WAYBOURNE_SOURCE_DIR) + "/coverage/data/indicators.json");
        std::ostringstream text;
        text << file.rdbuf();
        return parse_indicator_profile(text.str());
    }();
    return profile;
}

/// A district of 640,000; our own numbers, worked by hand.
Counts district() {
    Counts counts;
    counts.population = 640'000;
    counts.birth_rate = 32;
    counts.functioning = 5;
    counts.functioning_comprehensive = 1;
    counts.births = 9'216;
    counts.caesareans = 614;
    counts.complications = 1'690;
    counts.direct_deaths = 22;
    counts.indirect_deaths = 5;
    counts.intrapartum_deaths = 92;
    counts.first_day_deaths = 46;
    return counts;
}

Indicator of(IndicatorKind kind, const Counts& counts) {
    return indicators(un_2009(), counts).at(static_cast<std::size_t>(kind));
}

std::string problems(const std::string& csv) {
    try {
        read_monthly_counts(csv);
    } catch (const InputError& error) {
        std::string all = error.what();
        for (const FieldError& field : error.fields()) {
            all += "\n" + field.pointer + ": " + field.detail;
        }
        return all;
    }
    return "";
}

}  // namespace

TEST_CASE(
    "Sub-districts count by the same measure as the whole: five for 500,000, one comprehensive") {
    // definition: UN handbook of 2009, indicator 2, as the MEASURE compendium cites it; own
    // numbers: 150,000 people need 1.5 facilities and 0.3 comprehensive ones
    AreaAvailability area{"north", 150'000, 1, 0, 1, 0};
    CHECK(meets_availability(un_2009(), area) == false);
    area.functioning = 2;
    CHECK(meets_availability(un_2009(), area) == true);
    area.comprehensive = 0;
    CHECK(meets_availability(un_2009(), area) == false);
    area.maybe_comprehensive = 1;
    CHECK_FALSE(meets_availability(un_2009(), area).has_value());  // it hangs on what is not known
    area = {"north", 100'000, 1, 0, 1, 0};                         // exactly one is needed
    CHECK(meets_availability(un_2009(), area) == true);
    area.functioning = 0;
    area.maybe_functioning = 0;
    area.comprehensive = 0;
    area.maybe_comprehensive = 1;
    CHECK(meets_availability(un_2009(), area) == false);  // not even if all is well
    area.population = std::nullopt;
    CHECK_FALSE(meets_availability(un_2009(), area).has_value());
    Counts counts = district();
    CHECK(of(IndicatorKind::geographic_distribution, counts).missing ==
          std::vector<std::string>{"areas_met", "areas"});
    counts.areas = 4;
    counts.areas_met = 3;
    CHECK(of(IndicatorKind::geographic_distribution, counts).value == 0.75);
    CHECK(of(IndicatorKind::geographic_distribution, counts).is_acceptable == false);
    counts.areas_met = 4;
    CHECK(of(IndicatorKind::geographic_distribution, counts).is_acceptable == true);
}

TEST_CASE("The eight figures of a district are those worked by hand") {
    // definitions: MEASURE compendium, citing the UN handbook of 2009
    const auto all = indicators(un_2009(), district());
    const auto value = [&](IndicatorKind kind) {
        return all.at(static_cast<std::size_t>(kind)).value.value();
    };
    CHECK(value(IndicatorKind::availability) == doctest::Approx(5 / 6.4));
    CHECK(value(IndicatorKind::availability_comprehensive) == doctest::Approx(1 / 1.28));
    CHECK(value(IndicatorKind::births_in_facilities) == doctest::Approx(9'216.0 / 20'480));
    CHECK(value(IndicatorKind::met_need) == doctest::Approx(1'690.0 / 3'072));
    CHECK(value(IndicatorKind::caesarean_share) == doctest::Approx(614.0 / 20'480));
    CHECK(value(IndicatorKind::case_fatality) == doctest::Approx(22.0 / 1'690));
    CHECK(value(IndicatorKind::early_death_rate) == doctest::Approx(138.0 / 9'216));
    CHECK(value(IndicatorKind::indirect_share) == doctest::Approx(5.0 / 27));
    for (const IndicatorKind kind :
         {IndicatorKind::availability, IndicatorKind::availability_comprehensive,
          IndicatorKind::met_need, IndicatorKind::caesarean_share, IndicatorKind::case_fatality}) {
        CHECK(all.at(static_cast<std::size_t>(kind)).is_acceptable == false);
    }
    CHECK(!all[3].is_acceptable.has_value());  // no level is set for births in facilities
    // 6.4 are needed and 5 are there; 1.28 comprehensive and 1 is there
    CHECK(missing_facilities(un_2009(), district()) == MissingFacilities{2, 1});
}

TEST_CASE(
    "At the limit itself: five and fifteen per cent are acceptable, a fatality of one is not") {
    Counts counts = district();
    const auto caesareans = [&](double count) {
        counts.population = 1'000'000;
        counts.birth_rate = 20;  // 20,000 expected births
        counts.caesareans = count;
        return of(IndicatorKind::caesarean_share, counts).is_acceptable.value();
    };
    CHECK(!caesareans(999));
    CHECK(caesareans(1000));
    CHECK(caesareans(3000));
    CHECK(!caesareans(3001));
    counts.complications = 1000;
    for (const auto& [deaths, is_acceptable] : {std::pair(9, true), std::pair(10, false)}) {
        counts.direct_deaths = deaths;
        CHECK(of(IndicatorKind::case_fatality, counts).is_acceptable == is_acceptable);
    }
}

TEST_CASE("A met need above all that is expected is shown, not cut off") {
    Counts counts = district();
    counts.complications = 6'144;
    CHECK(of(IndicatorKind::met_need, counts).value.value() == doctest::Approx(2));
    CHECK(of(IndicatorKind::met_need, counts).is_acceptable == true);
}

TEST_CASE("What is not known is named, and nothing divided by nothing is no figure") {
    Counts counts = district();
    counts.complications = std::nullopt;
    const Indicator fatality = of(IndicatorKind::case_fatality, counts);
    CHECK(!fatality.value.has_value());
    CHECK(!fatality.is_acceptable.has_value());
    CHECK(fatality.missing == std::vector<std::string>{"complications"});
    counts = district();
    counts.complications = 0;
    CHECK(!of(IndicatorKind::case_fatality, counts).value.has_value());
    CHECK(of(IndicatorKind::case_fatality, counts).missing.empty());
    counts.birth_rate = std::nullopt;
    CHECK(of(IndicatorKind::met_need, counts).missing == std::vector<std::string>{"birth_rate"});
    counts.direct_deaths = std::nullopt;
    CHECK(of(IndicatorKind::indirect_share, counts).missing ==
          std::vector<std::string>{"direct_deaths"});
}

TEST_CASE("The levels are data: basic care is seven functions, comprehensive care nine") {
    CHECK(un_2009().basic.size() == 7);
    CHECK(un_2009().comprehensive.size() == 9);
    CHECK(un_2009().comprehensive.contains_all(un_2009().basic));
    CHECK_THROWS_AS(parse_indicator_profile("{}"), InputError);
    CHECK_THROWS_AS(parse_indicator_profile("[]"), InputError);
}

TEST_CASE("Monthly counts are summed, and every month and cell that is missing is named") {
    const auto rows = read_monthly_counts(
        "facility,month,births,caesareans\n"
        "hill,2026-01,30,2\n"
        "hill,2026-02,20,\n"
        "shore,2026-02,5,0\n");
    const std::vector<FacilityId> both{FacilityId("hill"), FacilityId("shore")};
    const MonthlySum sum =
        sum_of(rows, both, find_month("2026-01").value(), find_month("2026-02").value());
    CHECK(sum.counts.births == 55);
    CHECK(sum.counts.caesareans == 2);
    CHECK(!sum.counts.complications.has_value());
    const auto is_named = [&](const char* what) {
        return std::count(sum.missing.begin(), sum.missing.end(), what) == 1;
    };
    CHECK(is_named("shore 2026-01"));
    CHECK(is_named("hill 2026-02 caesareans"));
    CHECK(!is_named("hill 2026-01 births"));
    CHECK(to_text(find_month("2025-12").value()) == "2025-12");
}

TEST_CASE("Bad counts are refused, every row with its reason") {
    CHECK(problems("facility,month,births\n"
                   "hill,2026-13,3\n"
                   "hill,2026-01,-3\n"
                   "hill,2026-02,some\n"
                   "hill,2026-03,1\n"
                   "hill,2026-03,1\n") ==
          "nothing was imported: 4 rows are bad\n"
          "line 2, column month: '2026-13' is not a month such as 2026-03\n"
          "line 3, column births: -3 is outside 0 to 100000\n"
          "line 4, column births: 'some' is not a number\n"
          "line 6: hill has a row for 2026-03 already");
    CHECK(problems("facility,birth\n").find("headings are wrong") != std::string::npos);
}
