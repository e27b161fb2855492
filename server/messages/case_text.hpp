#pragma once
/// The answer to findings that came by text, in at most two messages.

#include <string>

#include "server/answer.hpp"
#include "server/messages/findings_text.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// What one answer by text is made from.
struct CaseText {
    char letter = 'A';
    const TextedFindings& read;
    const Answer& answer;
    /// The question that she may answer with yes or no; null: none.
    const triage::Question* question = nullptr;
    /// That another case had to go, in words; empty: none had.
    std::string dropped = {};
};

/// The first question of the answer that yes or no answers alone; null: there is none.
const triage::Question* yes_or_no_question(const Snapshot& snapshot,
                                           const triage::Assessment& assessment);

/// Where, by when and whom to phone stand first, then which case had to go, the caution, what was
/// not understood, the question, and how to open the referral; then, as far as there is room, what
/// she needs, what was understood, and the first thing to do (when she must leave now, before the
/// question). In the alphabet of text messages (3GPP TS 23.038).
/// @param catalogue whose words it is written in
std::string write_case_text(const Snapshot& snapshot, const Catalogue& catalogue,
                            const CaseText& about, Instant now);

}  // namespace waybourne::server
