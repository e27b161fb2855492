#include "referral/choice.hpp"

#include <doctest/doctest.h>

#include <limits>
#include <set>

#include "referral/care_begins.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::referral;

TEST_CASE("The figures of the choice are the ones the district was told") {
    // design.md section 6 and clinical.md g; handover from Jana et al. 2023 (13.84 min), rounded.
    const ChoiceSettings settings;
    CHECK(settings.critical_weight == 3);
    CHECK(settings.lateness_tolerance == 0.02);
    CHECK(settings.time_tolerance == 5min);
    CHECK(settings.second_stop_saves == 0.10);
    CHECK(settings.call_wait == 5min);
    CHECK(settings.departure_delay_when_now == 15min);
    CHECK(settings.departure_delay == 30min);
    CHECK(settings.handover == 14min);
    CHECK(settings.first_stop_stay == 20min);
    CHECK(settings.alternatives >= 2);
}

TEST_CASE("Each figure is in the table, and only one claims a source") {
    std::set<std::string_view> names;
    int with_source = 0;
    for (const ChoiceFigure& figure : figures({})) {
        names.insert(figure.name);
        with_source += figure.has_source ? 1 : 0;
    }
    CHECK(names.size() == 12);
    CHECK(with_source == 1);
}

TEST_CASE("Figures that make no sense are refused, each by its name") {
    check(ChoiceSettings{});
    ChoiceSettings wrong;
    wrong.critical_weight = 0.5;
    wrong.lateness_tolerance = std::numeric_limits<double>::quiet_NaN();
    wrong.call_wait = -1min;
    wrong.unmet_after = 48h;
    try {
        check(wrong);
        FAIL("accepted");
    } catch (const InputError& error) {
        std::set<std::string> pointers;
        for (const FieldError& field : error.fields()) {
            pointers.insert(field.pointer);
        }
        CHECK(pointers == std::set<std::string>{"#/critical_weight", "#/lateness_tolerance",
                                                "#/call_wait", "#/unmet_after"});
    }
}

TEST_CASE("Lateness is weight times minutes late over minutes allowed") {
    const ChoiceSettings settings;
    CHECK(lateness_of(false, 30min, 120min, settings) == doctest::Approx(0.25));
    CHECK(lateness_of(true, 30min, 120min, settings) == doctest::Approx(0.75));
    CHECK(lateness_of(true, 0min, 120min, settings) == 0);
    CHECK(lateness_of(true, -30min, 120min, settings) == 0);
    // No limit under a minute: a limit of nothing would make every second endlessly late.
    CHECK(lateness_of(false, 2min, 0min, settings) == doctest::Approx(2));
}

TEST_CASE("Care begins at the later of handover and readiness") {
    constexpr Instant noon{std::chrono::sys_days{std::chrono::year{2026} / 3 / 4} + 12h};
    CHECK(care_begins(noon, 14min, noon) == noon + 14min);
    CHECK(care_begins(noon, 14min, noon + 14min) == noon + 14min);
    CHECK(care_begins(noon, 14min, noon + 15min) == noon + 15min);
    CHECK(care_begins(noon, 0min, noon) == noon);
}
