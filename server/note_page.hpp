#pragma once
/// The referral note as one printable page: PDF, A4, with a QR code that leads back to the
/// referral.

#include <string>
#include <vector>

namespace waybourne::server {

struct NotePage {
    /// The referral's code.
    std::string code;
    /// The note (`referral::referral_note`): lines of at most 80 characters, UTF-8.
    std::string note;
    /// What every reader must know, most important first.
    std::vector<std::string> cautions = {};
    /// Where the QR code leads; never anything about the woman. Empty: the code itself.
    std::string link = {};
    /// Printed large where it is only practice; empty: it is real.
    std::string practice_label = {};
    /// What stands where a line had to be left out, with `{count}`.
    std::string more = {};
};

/// Where the QR code leads: `BASE/#/referral/CODE`; what follows the `#` stays on the phone that
/// reads it and is sent to no server. Empty without a base.
std::string note_link(const std::string& base, const std::string& code);

/// The font is a part of the file, so that every letter it has is printed as it was written; a
/// letter that it lacks is printed as a box, never left out. What does not fit is counted on the
/// page, never cut silently.
/// @throws DataError when the font is missing
std::string render_note_pdf(const NotePage& page);

}  // namespace waybourne::server
