#pragma once
/// Findings sorted for the note: what is happening, what was there before, what was measured.

#include <string>
#include <vector>

#include "triage/assessment.hpp"
#include "triage/findings.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::referral {

/// Each already in words, in the order to be read.
struct NoteFacts {
    /// Age, status, weeks or days.
    std::vector<std::string> woman;
    /// Danger signs that are there, those that made a rule fire first.
    std::vector<std::string> signs;
    /// Asked and not there.
    std::vector<std::string> not_found;
    /// About the pregnancy, the birth and her illnesses.
    std::vector<std::string> background;
    std::vector<std::string> measured;
};

/// Whether she and the baby are safe at home is left out: it is told, not written.
NoteFacts note_facts(const triage::Findings& findings, const triage::Assessment& assessment,
                     const Catalogue& catalogue);

}  // namespace waybourne::referral
