#include "referral/choice.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "vocabulary/error.hpp"

namespace waybourne::referral {

namespace {

double minutes(Seconds span) {
    return static_cast<double>(span.count()) / 60;
}

}  // namespace

std::vector<ChoiceFigure> figures(const ChoiceSettings& settings) {
    return {
        {"critical_weight", settings.critical_weight, "weight", false},
        {"lateness_tolerance", settings.lateness_tolerance, "share", false},
        {"time_tolerance", minutes(settings.time_tolerance), "min", false},
        {"second_stop_saves", settings.second_stop_saves, "share", false},
        {"call_wait", minutes(settings.call_wait), "min", false},
        {"departure_delay_when_now", minutes(settings.departure_delay_when_now), "min", false},
        {"departure_delay", minutes(settings.departure_delay), "min", false},
        {"handover", minutes(settings.handover), "min", true},
        {"first_stop_stay", minutes(settings.first_stop_stay), "min", false},
        {"search_limit", minutes(settings.search_limit), "min", false},
        {"unmet_after", minutes(settings.unmet_after), "min", false},
        {"alternatives", static_cast<double>(settings.alternatives), "count", false},
    };
}

void check(const ChoiceSettings& settings) {
    std::vector<FieldError> errors;
    for (const ChoiceFigure& figure : figures(settings)) {
        if (!std::isfinite(figure.value) || figure.value < 0) {
            errors.push_back({"#/" + std::string(figure.name),
                              std::to_string(figure.value) + " is not a number of 0 or more"});
        }
    }
    if (settings.critical_weight < 1) {
        errors.push_back(
            {"#/critical_weight", "a critical need may not weigh less than any other, 1"});
    }
    if (settings.unmet_after <= 2 * settings.search_limit) {
        errors.push_back({"#/unmet_after", "must be more than two stages of search_limit"});
    }
    if (!errors.empty()) {
        throw InputError("the figures of the choice are wrong", errors);
    }
}

double lateness_of(bool critical, Seconds late, Seconds within, const ChoiceSettings& settings) {
    if (late <= Seconds{0}) {
        return 0;
    }
    const Seconds allowed = std::max(within, Seconds{1min});
    const double relative =
        static_cast<double>(late.count()) / static_cast<double>(allowed.count());
    return critical ? settings.critical_weight * relative : relative;
}

}  // namespace waybourne::referral
