#pragma once
/// When a ferry sails and how long it crosses.

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "vocabulary/time.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne::routing {

/// A span of the week in which a ferry departs, counted from Monday 00:00 local time. `from == to`
/// is one sailing at that minute; otherwise it leaves whenever somebody comes, from `from` until
/// just before `to`.
struct Sailing {
    std::chrono::minutes from{};
    std::chrono::minutes to{};
    bool operator==(const Sailing&) const = default;
    bool operator<(const Sailing& other) const {
        return from != other.from ? from < other.from : to < other.to;
    }
};

/// The departures of one week, the same every week, in the local time of the district. Immutable
/// and safe to share between threads. Public holidays are not known.
///
/// When clocks go forward, a sailing in the missing hour leaves at the moment of the change; when
/// they go back, a sailing in the repeated hour leaves the first time (common practice, no source).
class Timetable {
public:
    /// @param zone an IANA time zone name such as `Pacific/Fiji`
    /// @throws InputError for an unknown zone, or a sailing outside the week or ending before it
    /// begins
    Timetable(std::string_view zone, std::vector<Sailing> sailings);

    /// The first departure at or after `at`; none if the ferry never sails. A later `at` never
    /// leaves earlier, so waiting never pays (what exact routing needs). O(log sailings), plus the
    /// sailings of one hour on the night when clocks go back.
    std::optional<Instant> next_departure(Instant at) const;

    const std::string& zone() const { return zone_->name(); }
    /// In order, without overlaps.
    const std::vector<Sailing>& sailings() const { return sailings_; }
    bool operator==(const Timetable& other) const;

private:
    std::shared_ptr<const TimeZone> zone_;
    std::vector<Sailing> sailings_;
};

/// One ferry as the map describes it. `timetable` is none where the map gives no hours or none that
/// could be understood; then `assumed_wait`, a mean, counts before every crossing and is labelled
/// as assumed (`wait_weight`).
struct Ferry {
    Seconds crossing{};
    std::optional<Timetable> timetable;
    Seconds assumed_wait{};
    bool sails_when_wet = true;
    bool sails_when_dry = true;
    bool operator==(const Ferry&) const = default;
};

/// A timetable that was read, and what was left out of account, in words.
struct ReadTimetable {
    Timetable timetable;
    std::vector<std::string> remarks;
};

/// Reads sailings in the notation of the OpenStreetMap key `opening_hours`, the part of it that
/// ferries use (specification 0.7.4, wiki.openstreetmap.org/wiki/Key:opening_hours/specification):
///
///     24/7                           at any time; with `interval` from 00:00 on, remarked
///     Mo-Fr 06:00-18:00              whenever somebody comes, between these times
///     Mo-Fr 06:00-18:00/00:30        06:00, 06:30 … 18:00 (also `/30`)
///     Mo,We 07:15,12:00; Su off      at these times; a later rule replaces an earlier one's days
///     sunrise-sunset                 06:30 to 17:30: an assumption for the tropics, remarked
///
/// Rules for public and school holidays (`PH`, `SH`) are left out and remarked. With `interval`, a
/// span without steps gets departures that far apart, beginning with its first minute.
///
/// @throws InputError with everything that is not understood (months, weeks, comments, open ends …)
ReadTimetable parse_timetable(std::string_view text, const std::string& zone,
                              std::optional<std::chrono::minutes> interval = std::nullopt);

/// Reads a span as the OpenStreetMap keys `duration` and `interval` write it: `25` (minutes),
/// `00:25`, `1:05:30` or `PT1H5M` (wiki.openstreetmap.org/wiki/Key:duration). More than zero, at
/// most seven days.
/// @throws InputError saying what was given and what is allowed
Seconds parse_duration(std::string_view text);

}  // namespace waybourne::routing
