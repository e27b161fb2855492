#pragma once
/// What to ask next, and what the answers could change.

#include <vector>

#include "triage/assessment.hpp"
#include "triage/internal/case.hpp"
#include "triage/protocol.hpp"

namespace waybourne::triage {

/// The fields to ask for, in the order of `clinical.md` COM-5: refused and contradicting ones, then
/// the unanswered ones of the rules that fire, shortest time first, then the always-asked ones.
std::vector<FieldId> fields_to_ask(const Protocol& protocol, const Case& given,
                                   const WorkedCase& worked, const std::vector<FieldId>& refused);

/// Values of a field that stand for all accepted ones: one of each stretch in which no condition
/// changes, given the other findings.
std::vector<double> possible_answers(const Protocol& protocol, FieldId field,
                                     const std::vector<CheckedReading>& readings);

/// The case with one more answer. A number of a reading is filled into the newest reading if it
/// was not given there; otherwise it is a further reading, taken now.
Case with_answer(const Protocol& protocol, const Case& given, FieldId field, double value,
                 Instant now);

/// One question for each of `asked`, and one for the danger signs among the rest that nobody has
/// answered. Most decisive first, those of `refused` before all.
std::vector<Question> questions_about(const Protocol& protocol, const Case& given,
                                      const WorkedCase& worked, const std::vector<FieldId>& asked,
                                      const std::vector<FieldId>& refused, Instant now);

}  // namespace waybourne::triage
