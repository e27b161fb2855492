// Readings taken again. Source: clinical specification a.2, MEA-1 to MEA-6 and PLA-9 (common
// practice of the trade and proposals, no published source).
#include <doctest/doctest.h>

#include "tests/triage/support.hpp"

namespace waybourne::triage {
namespace {

struct Taken {
    int minutes_ago = 0;
    std::optional<int> systolic;
    std::optional<int> diastolic;
    std::optional<int> pulse;
};

/// A woman of 34 weeks, awake, neither fitting nor bleeding, with these readings.
Assessment after(const std::vector<Taken>& taken, const std::string& also = "") {
    Findings given = findings(
        R"({"status": "pregnant", "gestation_weeks": 34, "avpu": "A", "convulsions": "no",
            "bleeding": "none")" +
        also + "}");
    for (const Taken& one : taken) {
        given.readings.push_back({test_now - std::chrono::minutes(one.minutes_ago), one.systolic,
                                  one.diastolic, one.pulse});
    }
    return assessed(given);
}

std::string why(const Assessment& assessment) {
    return assessment.measure_again ? assessment.measure_again->why.id : std::string("nothing");
}

TEST_CASE("Raised but not very high: rest for fifteen minutes and measure again") {
    const Assessment first = after({{0, 148, 94, 82}});
    CHECK(minutes(first.within) == 1440);
    CHECK(first.provisional);
    CHECK(why(first) == "triage.measure.MEA-1");
    CHECK(first.measure_again->after == 15min);
    SUBCASE("five minutes of the rest have passed") {
        CHECK(after({{5, 148, 94, 82}}).measure_again->after == 10min);
    }
    SUBCASE("the second reading is raised too: it decides") {
        const Assessment second = after({{15, 148, 94, 82}, {0, 144, 92, 80}});
        CHECK(minutes(second.within) == 1440);
        CHECK_FALSE(second.provisional);
        CHECK(why(second) == "triage.measure.MEA-6");
        CHECK(second.measure_again->after == 60min);
    }
    SUBCASE("the second reading is normal: no time limit from pressure, again within a week") {
        const Assessment second = after({{15, 148, 94, 82}, {0, 128, 82, 80}});
        CHECK_FALSE(second.within.has_value());
        CHECK_FALSE(second.provisional);
        CHECK(why(second) == "triage.measure.MEA-4");
        CHECK(second.measure_again->after == 168h);
    }
    SUBCASE("a second reading one minute too early decides nothing yet") {
        const Assessment early = after({{14, 148, 94, 82}, {0, 128, 82, 80}});
        CHECK(minutes(early.within) == 1440);
        CHECK(early.provisional);
    }
    SUBCASE("a second reading without its lower number and pulse cannot relax anything") {
        const Assessment part = after({{20, 148, 94, 82}, {0, 128, {}, {}}});
        CHECK(minutes(part.within) == 1440);
    }
}

TEST_CASE("A danger sign never waits for the fifteen minutes") {
    const Assessment assessment = after({{0, 148, 94, 82}}, R"(, "severe_headache": "yes")");
    CHECK(minutes(assessment.within) == 240);
    CHECK_FALSE(assessment.provisional);
    CHECK(why(assessment) == "triage.measure.MEA-6");
    CHECK(assessment.measure_again->after == 15min);
}

TEST_CASE("Very high: measure again at once and act meanwhile; the worse of the two counts") {
    const Assessment first = after({{0, 165, 104, 88}});
    CHECK(minutes(first.within) == 240);
    CHECK(first.provisional);
    CHECK(why(first) == "triage.measure.MEA-2");
    CHECK(first.measure_again->after == 0s);
    SUBCASE("very high again: settled") {
        const Assessment second = after({{2, 165, 104, 88}, {0, 162, 100, 88}});
        CHECK(minutes(second.within) == 240);
        CHECK_FALSE(second.provisional);
    }
    SUBCASE("the second is not: a third at once, and very high until then") {
        const Assessment second = after({{2, 165, 104, 88}, {0, 138, 84, 88}});
        CHECK(minutes(second.within) == 240);
        CHECK(fires(second, "HTN-2"));
        CHECK(second.provisional);
        CHECK(why(second) == "triage.measure.MEA-3");
    }
    SUBCASE("two of three are not very high: they decide") {
        const Assessment third = after({{4, 165, 104, 88}, {2, 138, 84, 88}, {0, 136, 84, 88}});
        CHECK_FALSE(fires(third, "HTN-2"));
        CHECK_FALSE(third.within.has_value());
    }
    SUBCASE("two of three are very high: they decide") {
        const Assessment third = after({{4, 165, 104, 88}, {2, 138, 84, 88}, {0, 161, 84, 88}});
        CHECK(minutes(third.within) == 240);
        CHECK_FALSE(third.provisional);
    }
    SUBCASE("no averaging: 165 and 150 would average to less than 160") {
        CHECK(fires(after({{2, 165, 104, 88}, {0, 150, 100, 88}}), "HTN-2"));
    }
}

TEST_CASE("Pulse and pressure are only divided when taken within five minutes of each other") {
    // 98 beats to 104 mmHg is 0.94; the limit is 0.9 (Nathan 2015).
    CHECK(fires(after({{5, 104, 66, {}}, {0, {}, {}, 98}}), "SHK-1"));
    CHECK_FALSE(fires(after({{6, 104, 66, {}}, {0, {}, {}, 98}}), "SHK-1"));
}

TEST_CASE("A pressure too low to be true acts as severe until a complete set is accepted") {
    const Assessment refused = after({{3, 38, 20, 130}});
    CHECK(minutes(refused.within) == 60);
    CHECK(refused.leave_now);
    CHECK(refused.provisional);
    CHECK(why(refused) == "triage.measure.PLA-9");
    REQUIRE(refused.refused.size() == 1);
    CHECK(refused.refused.front().field == "sys_bp");
    SUBCASE("a repeat that is accepted settles it") {
        CHECK_FALSE(after({{3, 38, 20, 80}, {0, 118, 72, 80}}).within.has_value());
    }
    SUBCASE("a repeat without a pulse does not") {
        CHECK(minutes(after({{3, 38, 20, 80}, {0, 118, 72, {}}}).within) == 60);
    }
}

TEST_CASE(
    "While she waits she is measured every fifteen minutes, or every hour when there is time") {
    const std::string twice_raised = R"(, "fetal_movement": "reduced")";
    const Assessment hours = after({{0, 118, 72, 80}}, twice_raised);
    CHECK(minutes(hours.within) == 720);
    CHECK(hours.measure_again->after == 60min);
    const Assessment near = after({{0, 118, 72, 80}}, R"(, "psychosis_signs": "yes")");
    CHECK(minutes(near.within) == 240);
    CHECK(near.measure_again->after == 15min);
}

}  // namespace
}  // namespace waybourne::triage
