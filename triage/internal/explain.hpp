#pragma once
/// Why a rule fires, fact by fact.

#include <vector>

#include "triage/internal/case.hpp"
#include "triage/protocol.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::triage {

/// The facts that make this rule fire, each once, in the order of its condition: measurements with
/// the limit they pass, answers, and what is unanswered where that counts.
std::vector<Message> facts_for(const Protocol& protocol, const Rule& rule,
                               const WorkedCase& worked);

}  // namespace waybourne::triage
