#pragma once
/// The referral note that travels with her: one page of plain text in the order Situation,
/// Background, Assessment, Recommendation (SBAR, a widely used order of handing over; from memory
/// of WHO patient-safety papers). It holds what the receiving team needs and no name.

#include <optional>
#include <string>

#include "facilities/register.hpp"
#include "referral/recommendation.hpp"
#include "triage/assessment.hpp"
#include "triage/findings.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::referral {

/// What the note says about the sending side. What is empty is left as a line to fill in by hand.
struct NoteHeader {
    /// The referral's code (referral_code.hpp).
    std::string code;
    Instant written_at{};
    std::string sending_site;
    std::string sending_phone;
    /// The grade of the health worker, e.g. "midwife"; never a name.
    std::string worker_grade;
    /// Local time minus UTC where she is, for every clock time on the note.
    Seconds utc_offset{};
};

/// A page is 66 lines of 80 characters: A4 at ten characters and six lines to the inch (common
/// practice, no source). The note never exceeds it: long lists are cut, and say how many more.
inline constexpr int note_page_lines = 66;
inline constexpr int note_page_columns = 80;

/// The note in the language of the catalogue, lines ended by `\n`. Field names, choices and
/// capabilities are worded by the catalogue where it has them, else by their plain names.
/// Complexity: linear in its inputs.
std::string referral_note(const NoteHeader& header, const triage::Findings& findings,
                          const triage::Assessment& assessment,
                          const Recommendation& recommendation,
                          const facilities::FacilityRegister& facilities,
                          const Catalogue& catalogue);

}  // namespace waybourne::referral
