#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <set>

#include "routing/ferry.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

using std::chrono::minutes;

constexpr std::size_t days_in_week = 7;
constexpr std::array<std::string_view, days_in_week> day_names{"Mo", "Tu", "We", "Th",
                                                               "Fr", "Sa", "Su"};
constexpr minutes one_day{24 * 60};
constexpr Seconds longest_duration = 7 * one_day;
/// No sailing lasts longer into the following day than this hour of the clock (`48:00`).
constexpr int last_hour = 48;
/// Assumption, not measured: daylight that the tropics have all year.
constexpr minutes assumed_sunrise{6 * 60 + 30};
constexpr minutes assumed_sunset{17 * 60 + 30};
/// More than any timetable has: a bound for hostile files.
constexpr std::size_t most_sailings = 20'000;

struct Span {
    minutes from{};
    minutes to{};
};

using Week = std::array<std::vector<Span>, days_in_week>;
using Days = std::array<bool, days_in_week>;

/// What cannot be understood, thrown inside one rule and collected by the caller.
struct NotUnderstood {
    std::string why;
};

/// Reads one rule from left to right.
class RuleReader {
public:
    RuleReader(std::string_view text, std::optional<minutes> interval,
               std::set<std::string>& remarks)
        : rest_(text), interval_(interval), remarks_(remarks) {}

    /// A rule may be followed by more after commas, which add to it: `Mo 08:00, Sa 09:00`.
    void read_into(Week& week) {
        bool adds = false;
        do {
            read_part(week, adds);
            adds = true;
        } while (take(","));
        skip_spaces();
        if (!rest_.empty()) {
            throw NotUnderstood{fmt::format("'{}' is not understood", rest_)};
        }
    }

private:
    void read_part(Week& week, bool adds) {
        skip_spaces();
        Days days;
        days.fill(true);
        if (take("24/7")) {
            apply(week, days, day_and_night(), adds);
            return;
        }
        bool is_holiday_rule = false;
        if (starts_with_day()) {
            days = read_days();
            is_holiday_rule = std::find(days.begin(), days.end(), true) == days.end();
        }
        skip_spaces();
        const std::vector<Span> spans =
            take("off") || take("closed") ? std::vector<Span>{} : read_spans();
        if (!is_holiday_rule) {
            apply(week, days, spans, adds);
        }
    }

    /// With an interval the minute of the first departure is not known; it is taken as midnight.
    std::vector<Span> day_and_night() const {
        std::vector<Span> spans;
        if (!interval_) {
            return {{minutes::zero(), one_day}};
        }
        if (*interval_ > one_day) {
            throw NotUnderstood{"24/7 with an interval of more than a day"};
        }
        remarks_.insert("24/7 with an interval is taken as departures from 00:00 on (assumption)");
        for (minutes at{0}; at < one_day; at += *interval_) {
            spans.push_back({at, at});
        }
        return spans;
    }

    /// A rule that does not add takes the place of all that was said of its days, also of what
    /// runs over from the day before: so the reference evaluation of the notation has it.
    static void apply(Week& week, const Days& days, const std::vector<Span>& spans, bool adds) {
        for (std::size_t day = 0; day < days_in_week && !adds; ++day) {
            if (days[day]) {
                week[day].clear();
            }
        }
        for (std::size_t day = 0; day < days_in_week; ++day) {
            for (const Span& span : days[day] ? spans : std::vector<Span>{}) {
                insert(week, day, span);
            }
        }
    }

    /// What goes past midnight belongs to the next day, from Sunday to Monday.
    static void insert(Week& week, std::size_t day, Span span) {
        for (; span.from >= one_day; span.from -= one_day, span.to -= one_day) {
            day = (day + 1) % days_in_week;
        }
        for (; span.to > one_day; span.from = minutes::zero(), span.to -= one_day) {
            week[day].push_back({span.from, one_day});
            day = (day + 1) % days_in_week;
        }
        week[day].push_back(span);
        if (week[day].size() > most_sailings) {
            throw NotUnderstood{"more sailings than any ferry has"};
        }
    }

    bool starts_with_day() const {
        const auto begins = [this](std::string_view name) { return rest_.starts_with(name); };
        return std::any_of(day_names.begin(), day_names.end(), begins) || begins("PH") ||
               begins("SH");
    }

    std::size_t read_day() {
        for (std::size_t day = 0; day < days_in_week; ++day) {
            if (take(day_names[day])) {
                return day;
            }
        }
        throw NotUnderstood{fmt::format("a weekday is expected at '{}'", rest_)};
    }

    Days read_days() {
        Days days{};
        do {
            skip_spaces();
            if (take("PH")) {
                remarks_.insert("what is said of public holidays is left out");
            } else if (take("SH")) {
                remarks_.insert("what is said of school holidays is left out");
            } else {
                const std::size_t first = read_day();
                const std::size_t last = take("-") ? read_day() : first;
                for (std::size_t day = first; day != last; day = (day + 1) % days_in_week) {
                    days[day] = true;
                }
                days[last] = true;
            }
        } while (take(","));
        return days;
    }

    std::vector<Span> read_spans() {
        std::vector<Span> spans;
        do {
            skip_spaces();
            read_span(spans);
        } while (next_is_time_after_comma() && take(","));
        return spans;
    }

    void read_span(std::vector<Span>& spans) {
        const minutes from = read_time();
        skip_spaces();
        if (!take("-")) {
            spans.push_back({from, from});
            return;
        }
        skip_spaces();
        minutes to = read_time();
        if (to <= from) {
            to += one_day;
        }
        const std::optional<minutes> step = take("/") ? read_step() : interval_;
        if (!step) {
            spans.push_back({from, to});
            return;
        }
        for (minutes at = from; at <= to; at += *step) {
            spans.push_back({at, at});
        }
        if (spans.size() > most_sailings) {
            throw NotUnderstood{"more sailings than any ferry has"};
        }
    }

    minutes read_time() {
        if (take("sunrise") || take("dawn")) {
            remarks_.insert("sunrise is taken as 06:30 (assumption)");
            return assumed_sunrise;
        }
        if (take("sunset") || take("dusk")) {
            remarks_.insert("sunset is taken as 17:30 (assumption)");
            return assumed_sunset;
        }
        const std::optional<int> hour = read_number();
        if (!hour || !take(":")) {
            throw NotUnderstood{fmt::format("a time such as 06:30 is expected at '{}'", rest_)};
        }
        const std::optional<int> minute = read_number();
        const bool is_time =
            minute && *hour <= last_hour && *minute < 60 && (*hour < last_hour || *minute == 0);
        if (!is_time) {
            throw NotUnderstood{"a time is outside 00:00 to 48:00"};
        }
        return minutes{*hour * 60 + *minute};
    }

    minutes read_step() {
        const std::optional<int> first = read_number();
        int total = first.value_or(0);
        if (first && take(":")) {
            const std::optional<int> minute = read_number();
            total = minute && *minute < 60 ? total * 60 + *minute : 0;
        }
        if (total < 1) {
            throw NotUnderstood{"the step after '/' must be minutes or hh:mm, at least one minute"};
        }
        return minutes{total};
    }

    /// One to four digits.
    std::optional<int> read_number() {
        const std::size_t length = std::min(rest_.find_first_not_of("0123456789"), rest_.size());
        if (length == 0 || length > 4) {
            return std::nullopt;
        }
        int value = 0;
        std::from_chars(rest_.data(), rest_.data() + length, value);
        rest_.remove_prefix(length);
        return value;
    }

    bool next_is_time_after_comma() const {
        const std::size_t next = rest_.find_first_not_of(" ,");
        const std::size_t comma = rest_.find_first_not_of(' ');
        if (next == std::string_view::npos || rest_[comma] != ',') {
            return false;
        }
        return rest_[next] >= '0' && rest_[next] <= '9' && !rest_.substr(next).starts_with("24/7");
    }

    bool take(std::string_view word) {
        skip_spaces();
        if (!rest_.starts_with(word)) {
            return false;
        }
        rest_.remove_prefix(word.size());
        return true;
    }

    void skip_spaces() {
        rest_.remove_prefix(std::min(rest_.find_first_not_of(' '), rest_.size()));
    }

    std::string_view rest_;
    std::optional<minutes> interval_;
    std::set<std::string>& remarks_;
};

std::vector<Sailing> to_sailings(const Week& week) {
    std::vector<Sailing> sailings;
    for (std::size_t day = 0; day < days_in_week; ++day) {
        const minutes midnight = one_day * static_cast<int>(day);
        for (const Span& span : week[day]) {
            sailings.push_back({midnight + span.from, midnight + span.to});
        }
    }
    return sailings;
}

bool is_digits(std::string_view text) {
    return !text.empty() && text.size() <= 5 &&
           text.find_first_not_of("0123456789") == std::string_view::npos;
}

int to_number(std::string_view digits) {
    int value = 0;
    std::from_chars(digits.data(), digits.data() + digits.size(), value);
    return value;
}

std::vector<std::string_view> split(std::string_view text, char separator) {
    std::vector<std::string_view> parts;
    while (true) {
        const std::size_t end = text.find(separator);
        parts.push_back(text.substr(0, end));
        if (end == std::string_view::npos) {
            return parts;
        }
        text.remove_prefix(end + 1);
    }
}

/// `25`, `0:25` or `0:25:30`; none if it is none of them.
std::optional<Seconds> clock_duration(std::string_view text) {
    const std::vector<std::string_view> parts = split(text, ':');
    if (parts.size() > 3 || !std::all_of(parts.begin(), parts.end(), is_digits)) {
        return std::nullopt;
    }
    if (parts.size() == 1) {
        return minutes{to_number(parts[0])};
    }
    const int minute = to_number(parts[1]);
    const int second = parts.size() == 3 ? to_number(parts[2]) : 0;
    if (minute > 59 || second > 59) {
        return std::nullopt;
    }
    return std::chrono::hours{to_number(parts[0])} + minutes{minute} + Seconds{second};
}

/// ISO 8601 `PT1H30M15S` with at least one part, in this order; none if it is not.
std::optional<Seconds> iso_duration(std::string_view text) {
    if (!text.starts_with("PT")) {
        return std::nullopt;
    }
    text.remove_prefix(2);
    Seconds total{};
    bool has_part = false;
    for (const auto& [unit, length] :
         {std::pair{'H', Seconds{3600}}, std::pair{'M', Seconds{60}}, std::pair{'S', Seconds{1}}}) {
        const std::size_t end = text.find(unit);
        if (end == std::string_view::npos || !is_digits(text.substr(0, end))) {
            continue;
        }
        total += length * to_number(text.substr(0, end));
        text.remove_prefix(end + 1);
        has_part = true;
    }
    return has_part && text.empty() ? std::optional{total} : std::nullopt;
}

}  // namespace

ReadTimetable parse_timetable(std::string_view text, const std::string& zone,
                              std::optional<minutes> interval) {
    std::vector<FieldError> errors;
    std::set<std::string> remarks;
    if (interval && *interval < minutes{1}) {
        errors.push_back({"interval", "the interval must be at least one minute"});
        interval.reset();
    }
    Week week;
    std::size_t number = 0;
    for (const std::string_view rule : split(text, ';')) {
        ++number;
        const bool is_blank = rule.find_first_not_of(' ') == std::string_view::npos;
        if (is_blank && number > 1) {
            continue;  // a trailing semicolon is common in the map
        }
        try {
            RuleReader{rule, interval, remarks}.read_into(week);
        } catch (const NotUnderstood& problem) {
            errors.push_back({fmt::format("rule {}", number), problem.why});
        }
    }
    if (!errors.empty()) {
        const std::string what =
            fmt::format("timetable '{}' is not understood: {}", text, errors.front().detail);
        throw InputError(what, std::move(errors));
    }
    return {Timetable{zone, to_sailings(week)}, {remarks.begin(), remarks.end()}};
}

Seconds parse_duration(std::string_view text) {
    const std::optional<Seconds> clock = clock_duration(text);
    const std::optional<Seconds> span = clock ? clock : iso_duration(text);
    if (!span || *span <= Seconds::zero() || *span > longest_duration) {
        throw InputError(fmt::format(
            "duration '{}' must be minutes (25), hours and minutes (0:25, 0:25:30) or PT25M; more "
            "than zero, at most seven days",
            text));
    }
    return *span;
}

}  // namespace waybourne::routing
