#pragma once
/// What somebody at a clinic writes about a woman in one text message, as findings.
///
/// Any order, short forms, three languages, decimal commas, slips of the thumb:
/// `preg 34w BP 165/112 p96 headache no fits prot 2+ T 37,8`.
///
/// Forgiving, but never guessing towards safety: what could be taken in two ways is left unknown
/// and said back, and of two answers to one question the worse one counts. A "no" belongs to the
/// one thing that follows it (`no fits`), or that it follows at the end of a clause (`fits no,`).

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "routing/route.hpp"
#include "server/messages/text_words.hpp"
#include "triage/findings.hpp"
#include "triage/protocol.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

struct TextedFindings {
    /// Readings are taken to be of this moment.
    triage::Findings findings;
    std::optional<routing::Means> means;
    /// Pieces of the text that changed nothing, in its order.
    std::vector<std::string> not_understood;
    /// Something was understood.
    bool is_about_a_woman() const { return !findings.readings.empty() || !findings.values.empty(); }
};

/// Numbers are taken as they stand: whether they are plausible is for `triage::assess` to say.
/// Times come in any unit (`2 days after birth`, `gave birth 40 min ago`). O(length × phrases) at
/// worst, when every word is misspelt.
/// @param text at most 1,000 bytes count; nobody types more
TextedFindings read_texted_findings(const TextWords& words, const triage::Protocol& protocol,
                                    std::string_view text, Instant now);

}  // namespace waybourne::server
