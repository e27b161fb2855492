#pragma once
/// A message put into words as this room means it: kinds of care by their plain words, moments as
/// clock times where she is.

#include <string>

#include "triage/capability.hpp"
#include "triage/findings.hpp"
#include "vocabulary/message.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::referral {

/// A kind of care as the value of a message: its wire name with spaces, `magnesium sulfate`.
std::string care_value(triage::Capability capability);

/// Several of which one is enough: `oxygen or critical care`.
std::string care_value(triage::CapabilitySet any_of);

/// The plain words for one kind of care, the text `triage.capability.<wire name>` of the catalogue;
/// without it the wire name with spaces.
std::string care_in_words(triage::Capability capability, const Catalogue& catalogue);

/// The same for several of which one is enough, joined by the text `referral.or`.
std::string care_in_words(triage::CapabilitySet any_of, const Catalogue& catalogue);

/// The name of a field in words, `triage.field.<name>`; without it the name with spaces.
std::string field_in_words(const std::string& field, const Catalogue& catalogue);

/// `yes`, `no`, `unknown` or the name of the choice; empty: the finding is a number.
std::string answer_name(const triage::FindingValue& value);

/// What was found, as short as it can be said: `no severe headache`, `34 weeks pregnant`, `pulse
/// 96`. Answers by the text `triage.fact.<field>.<answer>`, numbers by
/// `referral.note.value.<field>` where there is one.
std::string finding_in_words(const std::string& field, const triage::FindingValue& value,
                             const Catalogue& catalogue);

/// The message with each value that names kinds of care, or a resource that the catalogue knows as
/// `facilities.resource.<name>`, put into its plain words; for messages of any room. Resources are
/// named by whoever writes the register: others stay as they are written there.
Message with_care_in_words(Message message, const Catalogue& catalogue);

/// `14:20` on a clock that is `utc_offset` ahead of UTC.
std::string clock_time(Instant at, Seconds utc_offset);

/// `2026-03-04 14:20` on such a clock.
std::string date_and_time(Instant at, Seconds utc_offset);

/// The text of a message of any room: kinds of care in plain words, an RFC 3339 instant as a clock
/// time, with the date when it lies more than half a day from `now`. Other values stay.
std::string in_words(const Message& message, const Catalogue& catalogue, Seconds utc_offset,
                     Instant now);

}  // namespace waybourne::referral
