#pragma once
/// Short messages: one instruction each, in one text message that any phone shows.
///
/// Neither form carries a name or says what is suspected: the driver's phone is shared with the
/// family, and the receiving site learns from signs and needs what to prepare (clinical.md i.1).

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "facilities/register.hpp"
#include "referral/recommendation.hpp"
#include "triage/findings.hpp"
#include "vocabulary/geo_point.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::referral {

/// The most that one message holds in the 7-bit default alphabet (3GPP TS 23.040, from memory).
inline constexpr std::size_t text_message_length = 160;

/// The most that one of several messages that are shown as one holds (a header takes the rest), and
/// so two of them (3GPP TS 23.040, from memory).
inline constexpr std::size_t two_text_messages_length = 2 * std::size_t{153};

/// How many characters the text takes in the 7-bit default alphabet of 3GPP TS 23.038, section
/// 6.2.1: those of its extension, such as `[` and `€`, count as two. None when the
/// alphabet lacks a character.
/// @param text UTF-8
std::optional<std::size_t> text_message_characters(std::string_view text);

/// The text with what the alphabet lacks replaced: letters by the same without their accent,
/// typographic quotes and dashes by plain ones, everything else by `?`.
std::string in_text_message_alphabet(std::string_view text);

/// What every message needs besides the answer.
struct MessageContext {
    /// The referral's code (referral_code.hpp).
    std::string code;
    Instant now{};
    /// Local time minus UTC where she is.
    Seconds utc_offset{};
};

/// The latest moment at which she may be there with care still in time; none when no need that is
/// met there has a deadline, or when it is late anyway.
std::optional<Instant> be_there_by(const Stage& stage);

/// To the driver or family: where, and by when (clock time and minutes left). The time is the
/// latest arrival with care in time; without one, or when it is late anyway, "as soon as you can".
/// A place name too long for one message is cut.
/// @throws InputError when nowhere is recommended, or the catalogue's own words leave no room
std::string driver_message(const MessageContext& context, const Choice& choice,
                           const facilities::FacilityRegister& facilities,
                           const Catalogue& catalogue);

/// To the driver on a plain phone: where to fetch her, where to take her and by when, and which
/// digit to send at which step. Fits two messages.
/// @param from where she waits, in words
/// @param is_changed it stands in place of an earlier order
/// @throws InputError as `driver_message`
std::string driver_order(const MessageContext& context, const std::string& from,
                         const Choice& choice, bool is_changed,
                         const facilities::FacilityRegister& facilities,
                         const Catalogue& catalogue);

/// Where and by when one vehicle takes her over from another.
struct MeetingPoint {
    /// In words, or as coordinates.
    std::string at;
    /// She is there at the latest then; the empty vehicle waits rather than she.
    Instant by{};
};

/// To the driver of the vehicle that takes her over on the way: where to be and by when, where to
/// take her then, and which digit to send at which step. Fits two messages.
/// @throws InputError as `driver_message`
std::string meeting_order(const MessageContext& context, const MeetingPoint& meeting,
                          const Choice& choice, bool is_changed,
                          const facilities::FacilityRegister& facilities,
                          const Catalogue& catalogue);

/// To the driver who brings her to where another vehicle takes her over: where to fetch her, where
/// to bring her, when they meet, and which digit to send at which step. Fits two messages.
/// @param from where she waits, in words; empty: she is with him
/// @throws InputError as `driver_message`
std::string hand_over_order(const MessageContext& context, const std::string& from,
                            const MeetingPoint& meeting, bool is_changed,
                            const Catalogue& catalogue);

/// Where somebody waits: by its name, by its position, or both.
struct WaitingPlace {
    std::optional<GeoPoint> point = {};
    std::string name = {};
};

/// `Luzhenni clinic`, `-12.3456,36.7890`, `-12.3456,36.7890 (ask Luzhenni clinic)`: latitude first,
/// degrees.
std::string in_words(const WaitingPlace& place, int decimals = 4);

/// One of those whom a vehicle fetches one after the other.
struct TourStop {
    std::string code;
    WaitingPlace at;
};

/// To the driver who fetches several: whom to fetch in what order and where, where to take them all
/// and by when, and which digit to send with which code at which step. Fits two messages: names are
/// cut where it would not, then positions lose their last digit (which is 10 m). Where one of them
/// goes on to another place is not said before she is with him.
/// @param stops in the order in which they are fetched; two or more
/// @param choice of the one who has to be there first
/// @throws InputError as `driver_message`
std::string tour_order(const MessageContext& context, std::span<const TourStop> stops,
                       const Choice& choice, bool is_changed,
                       const facilities::FacilityRegister& facilities, const Catalogue& catalogue);

/// To the place of a stage: when she arrives (`allow`), what is seen and measured, what to have
/// ready. What does not fit is left out from the end of what is seen and measured, then of what is
/// needed.
/// @throws InputError when the choice has no such stage, or the catalogue's own words leave no room
std::string receiving_site_message(const MessageContext& context, const Choice& choice,
                                   std::size_t stage, const triage::Findings& findings,
                                   const Catalogue& catalogue);

}  // namespace waybourne::referral
