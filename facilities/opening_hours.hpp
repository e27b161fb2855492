#pragma once
/// When something is open: weekly hours with exceptions, in a subset of OpenStreetMap's
/// `opening_hours` (wiki.openstreetmap.org/wiki/Key:opening_hours/specification).
///
///     hours    = rule { (";" | ",") rule }
///     rule     = "24/7" | [ days ] [ times ] [ "open" | "off" | "closed" ]       never empty
///     days     = [ dates [ ":" ] ] [ weekdays ]
///     dates    = range { "," range }
///     range    = [ year ] month [ day ] [ "-" ( [ [ year ] month ] day | month ) ]
///     weekdays = Mo | Tu-Fr | Sa-Mo | PH, separated by commas
///     times    = hh:mm-hh:mm { "," hh:mm-hh:mm }    the end may be past midnight: 22:00-06:00, or
///                                                   written 22:00-30:00; at most 48:00
///
/// Months and weekdays are the English abbreviations; `PH` are the public holidays, which the
/// register lists. After `;` a rule replaces the earlier ones on the days it names (one that names
/// times and `off` only takes those times away); after `,` it adds to them. Days are calendar days:
/// a night that begins on the day before an exception ends at that day's midnight, one that begins
/// on the exception's day and follows from another day's rule goes on after it. This is how the
/// OpenStreetMap reference evaluation (npm package opening_hours) reads them.
///
/// What is not of this subset (sunrise, week numbers, comments, `unknown`, nth weekdays) is
/// refused, never guessed.

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "vocabulary/time_zone.hpp"

namespace waybourne::facilities {

/// The days on which rules with `PH` count, in order.
using Holidays = std::vector<LocalDay>;

/// A stretch within one local day, in minutes after its midnight; `until` may be past the next one.
struct DayInterval {
    std::int16_t from = 0;
    std::int16_t until = 0;
    auto operator<=>(const DayInterval&) const = default;
};

/// Which days one rule is about. Empty parts do not restrict.
struct DaySelector {
    struct DateRange {
        /// Years are 0 where the rule counts in every year.
        std::int16_t from_year = 0;
        std::int16_t until_year = 0;
        /// Month × 32 + day, both ends included.
        std::int16_t from_day = 0;
        std::int16_t until_day = 0;
        bool operator==(const DateRange&) const = default;
    };
    std::vector<DateRange> dates;
    /// Bit 0 is Monday.
    std::uint8_t weekdays = 0;
    bool holidays = false;
    bool operator==(const DaySelector&) const = default;
};

struct HoursRule {
    DaySelector days;
    /// Empty: the whole day.
    std::vector<DayInterval> times;
    bool is_open = true;
    /// Written after a comma: adds to the earlier rules instead of replacing them.
    bool adds = false;
    bool operator==(const HoursRule&) const = default;
};

/// Parsed opening hours. Immutable; a value that exists is valid. The weekly part is worked out
/// once, so that asking costs a few look-ups on days that no date or holiday is about.
class OpeningHours {
public:
    /// Always open.
    OpeningHours();
    OpeningHours(std::string text, std::vector<HoursRule> rules);

    /// As it was written.
    const std::string& text() const { return text_; }
    const std::vector<HoursRule>& rules() const { return rules_; }
    bool is_always_open() const { return is_always_open_; }
    bool operator==(const OpeningHours& other) const { return rules_ == other.rules_; }

    /// Whether it is open at that moment; the end of an interval is closed, its start open.
    bool is_open(Instant instant, const TimeZone& zone, const Holidays& holidays) const;

    /// The first moment from `from` on at which it is open: `from` itself when it is open then.
    /// None when it stays closed for 400 days. Where clocks jump forward, hours that do not exist
    /// are skipped; where they go back, an hour that comes twice is open both times. O(days looked
    /// at).
    std::optional<Instant> next_open(Instant from, const TimeZone& zone,
                                     const Holidays& holidays) const;

    /// The first moment from `from` on at which it is closed. None when it stays open for 400 days.
    std::optional<Instant> next_closed(Instant from, const TimeZone& zone,
                                       const Holidays& holidays) const;

private:
    bool is_special(LocalDay day, const Holidays& holidays) const;
    std::vector<DayInterval> paint(LocalDay day, const Holidays& holidays) const;
    std::optional<LocalTime> next_local(LocalTime from, bool open, const Holidays& holidays) const;
    std::optional<Instant> next(Instant from, bool open, const TimeZone& zone,
                                const Holidays& holidays) const;

    std::string text_ = "24/7";
    std::vector<HoursRule> rules_;
    bool is_always_open_ = true;
    bool has_special_days_ = false;
    /// When it is open on a weekday (0 is Monday) that no date or holiday is about: disjoint, in
    /// order, within the day.
    std::array<std::vector<DayInterval>, 7> week_;
};

/// @throws InputError saying what was not understood, where, and what is allowed
OpeningHours parse_opening_hours(std::string_view text);

}  // namespace waybourne::facilities
