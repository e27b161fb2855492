#pragma once
/// One woman's findings, worked through to the rules that fire.

#include <vector>

#include "triage/condition.hpp"
#include "triage/need.hpp"
#include "triage/plausible.hpp"
#include "triage/repeat.hpp"

namespace waybourne::triage {

/// What the rules are read against: what is believed, and the readings.
struct Case {
    /// Without the numbers of readings.
    Situation answers;
    std::vector<CheckedReading> readings;
};

/// A case with everything that follows from it. There are several views where several readings
/// stand or findings contradict each other; a rule that fires in any of them fires.
struct WorkedCase {
    std::vector<Situation> views;
    /// For each view, of every condition.
    std::vector<std::vector<Answer>> truths;
    FiredRules fired;
    StandingReadings standing;
    /// Places of the contradictions found.
    std::vector<std::size_t> contradictions;

    /// In any view.
    bool holds(ConditionId condition) const;
    /// In every view.
    bool is_known(FieldId field) const;
};

WorkedCase work_through(const Protocol& protocol, const Case& given);

/// Sets the rules that fire in these truths; leaves the others as they are.
void add_fired(const Protocol& protocol, const std::vector<Answer>& truths, FiredRules& fired);

}  // namespace waybourne::triage
