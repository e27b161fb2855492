#include "facilities/opening_hours.hpp"

#include <algorithm>
#include <utility>

#include "vocabulary/local_date.hpp"

namespace waybourne::facilities {

namespace {

constexpr std::int16_t day_minutes = 24 * 60;
constexpr Seconds one_day{24 * 60 * 60};
/// How far ahead an opening is looked for: a year and its exceptions.
constexpr int horizon_days = 400;

/// 0 is Monday. 1970-01-01 was a Thursday.
unsigned weekday_of(LocalDay day) {
    return std::chrono::weekday(day).iso_encoding() - 1;
}

bool lies_in(const DaySelector::DateRange& range, const std::chrono::year_month_day& date) {
    const auto year = static_cast<std::int16_t>(static_cast<int>(date.year()));
    const auto day = static_cast<std::int16_t>(static_cast<unsigned>(date.month()) * 32 +
                                               static_cast<unsigned>(date.day()));
    if (range.from_year != 0) {
        return std::pair(year, day) >= std::pair(range.from_year, range.from_day) &&
               std::pair(year, day) <= std::pair(range.until_year, range.until_day);
    }
    return range.from_day <= range.until_day
               ? day >= range.from_day && day <= range.until_day
               : day >= range.from_day || day <= range.until_day;  // over New Year
}

bool is_about(const DaySelector& days, LocalDay day, const Holidays& holidays) {
    if (!days.dates.empty()) {
        const std::chrono::year_month_day date{day};
        if (std::none_of(days.dates.begin(), days.dates.end(),
                         [&](const auto& range) { return lies_in(range, date); })) {
            return false;
        }
    }
    if (days.weekdays == 0 && !days.holidays) {
        return true;
    }
    return (days.weekdays >> weekday_of(day) & 1U) != 0 ||
           (days.holidays && std::binary_search(holidays.begin(), holidays.end(), day));
}

bool names_special_days(const HoursRule& rule) {
    return rule.days.holidays || !rule.days.dates.empty();
}

/// Lays a stretch over a day that is open on the stretches of `open`, and makes it open or closed.
void lay_over(std::vector<DayInterval>& open, DayInterval stretch, bool makes_open) {
    stretch.from = std::max<std::int16_t>(stretch.from, 0);
    stretch.until = std::min(stretch.until, day_minutes);
    if (stretch.from >= stretch.until) {
        return;
    }
    std::vector<DayInterval> next;
    next.reserve(open.size() + 1);
    for (const DayInterval& old : open) {
        if (makes_open && old.until >= stretch.from && old.from <= stretch.until) {
            stretch.from = std::min(stretch.from, old.from);
            stretch.until = std::max(stretch.until, old.until);
            continue;
        }
        if (makes_open || old.until <= stretch.from || old.from >= stretch.until) {
            next.push_back(old);
            continue;
        }
        if (old.from < stretch.from) {
            next.push_back({old.from, stretch.from});
        }
        if (old.until > stretch.until) {
            next.push_back({stretch.until, old.until});
        }
    }
    if (makes_open) {
        next.insert(std::upper_bound(next.begin(), next.end(), stretch), stretch);
    }
    open = std::move(next);
}

/// What a rule says about a day: its own hours, and what reaches in from the day before.
void lay_rule(std::vector<DayInterval>& open, const HoursRule& rule, LocalDay day,
              const Holidays& holidays) {
    if (is_about(rule.days, day - std::chrono::days(1), holidays)) {
        for (const DayInterval& times : rule.times) {
            lay_over(open, {0, static_cast<std::int16_t>(times.until - day_minutes)}, rule.is_open);
        }
    }
    if (!is_about(rule.days, day, holidays)) {
        return;
    }
    if (rule.times.empty()) {
        lay_over(open, {0, day_minutes}, rule.is_open);
    }
    for (const DayInterval& times : rule.times) {
        lay_over(open, times, rule.is_open);
    }
}

/// Takes away what the earlier rules said about a day it is about.
bool replaces(const HoursRule& rule) {
    return !rule.adds && (rule.is_open || rule.times.empty());
}

/// The start of the first stretch from `minute` on that is open (or closed), in seconds of the day;
/// none when it does not come on this day.
std::optional<Seconds> find_on_day(std::span<const DayInterval> pieces, Seconds at, bool open) {
    for (const DayInterval& piece : pieces) {
        const Seconds from = std::chrono::minutes(piece.from);
        const Seconds until = std::chrono::minutes(piece.until);
        if (open && at < until) {
            return std::max(at, from);
        }
        if (!open && at < from) {
            return at;
        }
        if (!open) {
            at = std::max(at, until);
        }
    }
    return !open && at < one_day ? std::optional(at) : std::nullopt;
}

}  // namespace

OpeningHours::OpeningHours() : OpeningHours("24/7", {HoursRule{}}) {}

OpeningHours::OpeningHours(std::string text, std::vector<HoursRule> rules)
    : text_(std::move(text)), rules_(std::move(rules)) {
    has_special_days_ = std::any_of(rules_.begin(), rules_.end(), names_special_days);
    std::vector<HoursRule> weekly = rules_;
    std::erase_if(weekly, names_special_days);
    std::swap(weekly, rules_);
    const LocalDay a_monday{std::chrono::days(4)};
    is_always_open_ = !has_special_days_;
    for (int weekday = 0; weekday < 7; ++weekday) {
        auto& pieces = week_[static_cast<std::size_t>(weekday)];
        pieces = paint(a_monday + std::chrono::days(weekday), {});
        is_always_open_ = is_always_open_ && pieces.size() == 1 && pieces[0].from == 0 &&
                          pieces[0].until == day_minutes;
    }
    std::swap(weekly, rules_);
}

std::vector<DayInterval> OpeningHours::paint(LocalDay day, const Holidays& holidays) const {
    std::size_t first = rules_.size();
    while (first > 0) {
        --first;
        if (replaces(rules_[first]) && is_about(rules_[first].days, day, holidays)) {
            break;
        }
    }
    std::vector<DayInterval> open;
    for (std::size_t i = first; i < rules_.size(); ++i) {
        lay_rule(open, rules_[i], day, holidays);
    }
    return open;
}

bool OpeningHours::is_special(LocalDay day, const Holidays& holidays) const {
    return has_special_days_ &&
           std::any_of(rules_.begin(), rules_.end(), [&](const HoursRule& rule) {
               return names_special_days(rule) &&
                      (is_about(rule.days, day, holidays) ||
                       is_about(rule.days, day - std::chrono::days(1), holidays));
           });
}

std::optional<LocalTime> OpeningHours::next_local(LocalTime from, bool open,
                                                  const Holidays& holidays) const {
    LocalDay day = day_of(from);
    Seconds at = time_of_day(from);
    const int days = has_special_days_ ? horizon_days : 7;  // a week has all that comes every week
    for (int looked_at = 0; looked_at <= days; ++looked_at) {
        const auto found = is_special(day, holidays)
                               ? find_on_day(paint(day, holidays), at, open)
                               : find_on_day(week_[weekday_of(day)], at, open);
        if (found) {
            return LocalTime{day.time_since_epoch() + *found};
        }
        day += std::chrono::days(1);
        at = Seconds{0};
    }
    return std::nullopt;
}

bool OpeningHours::is_open(Instant instant, const TimeZone& zone, const Holidays& holidays) const {
    if (is_always_open_) {
        return true;
    }
    const LocalTime local = zone.local(instant);
    const LocalDay day = day_of(local);
    const Seconds at = time_of_day(local);
    return (is_special(day, holidays) ? find_on_day(paint(day, holidays), at, true)
                                      : find_on_day(week_[weekday_of(day)], at, true)) == at;
}

std::optional<Instant> OpeningHours::next(Instant from, bool open, const TimeZone& zone,
                                          const Holidays& holidays) const {
    const Instant end = from + horizon_days * one_day;
    while (from <= end) {
        const OffsetPeriod& period = zone.period_at(from);
        const auto local = next_local({from.time_since_epoch() + period.offset}, open, holidays);
        if (local) {
            const Instant found{local->since_1970 - period.offset};
            if (found < period.until) {
                return found;
            }
        }
        // Not before the clocks change: go on with the offset that counts from then.
        from = period.until;
    }
    return std::nullopt;
}

std::optional<Instant> OpeningHours::next_open(Instant from, const TimeZone& zone,
                                               const Holidays& holidays) const {
    return is_always_open_ ? std::optional(from) : next(from, true, zone, holidays);
}

std::optional<Instant> OpeningHours::next_closed(Instant from, const TimeZone& zone,
                                                 const Holidays& holidays) const {
    return is_always_open_ ? std::nullopt : next(from, false, zone, holidays);
}

}  // namespace waybourne::facilities
