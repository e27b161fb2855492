#pragma once
/// When something is open: weekly hours with exceptions, in a subset of OpenStreetMap's
/// `opening_hours` (wiki.openstreetmap.org/wiki/Key:opening_hours/specification).
///
///     hours  = rule { (";" | ",") rule }
///     rule   = "24/7" | [ days ] ( times | "off" | "closed" | "open" ) | days
///     days   = [ dates ] [ weekdays ]         e.g.  Mo-Fr   Sa,Su   PH   Dec 25   2026 Dec 24-26
///     dates  = [ year ] month [ day ] [ "-" [ [ year ] month ] day | "-" month ] { "," dates }
///     times  = hh:mm-hh:mm { "," hh:mm-hh:mm }      the end may be past midnight: 22:00-06:00,
///                                                   or written 22:00-30:00; at most 48:00
///
/// Months and weekdays are the English abbreviations; `PH` are the public holidays, which the
/// register lists. After `;` a rule replaces the earlier ones on the days it names, after `,` it
/// adds to them. What is not of this subset (sunrise, week numbers, comments, `unknown`, nth
/// weekdays) is refused, never guessed.

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "facilities/time_zone.hpp"

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
    /// Empty: closed on these days.
    std::vector<DayInterval> times;
    /// Written after a comma: adds to the earlier rules instead of replacing them.
    bool adds = false;
    bool operator==(const HoursRule&) const = default;
};

/// Parsed opening hours. Immutable; a value that exists is valid. The weekly part is worked out
/// once, so that asking costs a few look-ups where no date or holiday is named.
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
    /// None when it stays closed for a year. Where clocks jump forward, hours that do not exist are
    /// skipped; where they go back, an hour that comes twice is open both times. O(1) for weekly
    /// hours, O(days × rules) where dates or holidays are named.
    std::optional<Instant> next_open(Instant from, const TimeZone& zone,
                                     const Holidays& holidays) const;

    /// The first moment from `from` on at which it is closed. None when it stays open for a year.
    std::optional<Instant> next_closed(Instant from, const TimeZone& zone,
                                       const Holidays& holidays) const;

private:
    struct WeekInterval {
        std::int32_t from;
        std::int32_t until;
    };
    void work_out_week();
    std::optional<LocalTime> next_local(LocalTime from, bool open, const Holidays& holidays) const;
    std::optional<Instant> next(Instant from, bool open, const TimeZone& zone,
                                const Holidays& holidays) const;

    std::string text_ = "24/7";
    std::vector<HoursRule> rules_;
    bool is_always_open_ = true;
    bool is_weekly_ = true;
    /// For weekly hours: disjoint, in order, in seconds after Monday 00:00; none reaches past the
    /// week's end.
    std::vector<WeekInterval> week_;
};

/// @throws InputError saying what was not understood, where, and what is allowed
OpeningHours parse_opening_hours(std::string_view text);

}  // namespace waybourne::facilities
