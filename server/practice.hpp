#pragma once
/// Practice: the whole system with cases that are not real and cannot be taken for real ones.
///
/// Who practises has a key that says so, or works on a server started with `--practice`. Such a
/// caller sees and makes practice cases only; nobody else sees them. They are never texted about,
/// change no readiness and no road, and are counted nowhere. Every answer to such a caller carries
/// the header field `Waybourne-Practice: yes`, every case the member `practice`, every caution,
/// note and text says it in words.

#include <string>

#include "server/answer.hpp"

namespace waybourne::server {

/// The field that every answer to somebody who practises carries.
inline constexpr const char* practice_field = "Waybourne-Practice";

/// The first of the cautions says that this is practice.
void mark_as_practice(triage::Assessment& assessment);
/// The cautions and the title of the note say that this is practice.
void mark_as_practice(Answer& answer, const Catalogue& catalogue);

}  // namespace waybourne::server
