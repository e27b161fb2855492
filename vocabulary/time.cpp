#include "vocabulary/time.hpp"

#include <algorithm>

#include "vocabulary/error.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne {

namespace {

void put_two_digits(std::string& text, std::size_t at, unsigned value) {
    text[at] = static_cast<char>('0' + value / 10);
    text[at + 1] = static_cast<char>('0' + value % 10);
}

}  // namespace

// An answer holds dozens of instants, and a stream costs ten times as much as the digits.
std::string to_rfc3339(Instant instant) {
    const auto midnight = std::chrono::floor<std::chrono::days>(instant);
    const std::chrono::year_month_day day{midnight};
    const int year = std::clamp(static_cast<int>(day.year()), 0, 9999);
    const auto of_day = static_cast<unsigned>((instant - midnight).count());
    std::string text = "0000-00-00T00:00:00Z";
    put_two_digits(text, 0, static_cast<unsigned>(year) / 100);
    put_two_digits(text, 2, static_cast<unsigned>(year) % 100);
    put_two_digits(text, 5, static_cast<unsigned>(day.month()));
    put_two_digits(text, 8, static_cast<unsigned>(day.day()));
    put_two_digits(text, 11, of_day / 3600);
    put_two_digits(text, 14, of_day / 60 % 60);
    put_two_digits(text, 17, of_day % 60);
    return text;
}

namespace {

[[noreturn]] void refuse(std::string_view text) {
    throw InputError("'" + shortened(text) +
                     "' is not an RFC 3339 instant such as 2026-03-04T09:40:00Z");
}

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/// Two to four digits at `at`; refuses anything else.
int digits(std::string_view text, std::size_t at, std::size_t count) {
    int value = 0;
    for (std::size_t i = at; i < at + count; ++i) {
        if (i >= text.size() || !is_digit(text[i])) {
            refuse(text);
        }
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

void expect(std::string_view text, std::size_t at, std::string_view any_of) {
    if (at >= text.size() || any_of.find(text[at]) == std::string_view::npos) {
        refuse(text);
    }
}

/// The offset that starts at `at` and ends the text.
Seconds parse_offset(std::string_view text, std::size_t at) {
    expect(text, at, "Zz+-");
    if (text[at] == 'Z' || text[at] == 'z') {
        if (text.size() != at + 1) {
            refuse(text);
        }
        return 0s;
    }
    const int hours = digits(text, at + 1, 2);
    expect(text, at + 3, ":");
    const int minutes = digits(text, at + 4, 2);
    if (text.size() != at + 6 || hours > 23 || minutes > 59) {
        refuse(text);
    }
    const Seconds offset = std::chrono::hours(hours) + std::chrono::minutes(minutes);
    return text[at] == '-' ? -offset : offset;
}

}  // namespace

Instant parse_rfc3339(std::string_view text) {
    const std::chrono::year_month_day day{
        std::chrono::year{digits(text, 0, 4)},
        std::chrono::month{static_cast<unsigned>(digits(text, 5, 2))},
        std::chrono::day{static_cast<unsigned>(digits(text, 8, 2))}};
    expect(text, 4, "-");
    expect(text, 7, "-");
    expect(text, 10, "Tt ");
    const int hour = digits(text, 11, 2);
    expect(text, 13, ":");
    const int minute = digits(text, 14, 2);
    expect(text, 16, ":");
    const int second = digits(text, 17, 2);
    if (!day.ok() || hour > 23 || minute > 59 || second > 60) {
        refuse(text);
    }
    std::size_t at = 19;
    if (at < text.size() && text[at] == '.') {
        ++at;
        digits(text, at, 1);
        while (at < text.size() && is_digit(text[at])) {
            ++at;
        }
    }
    return std::chrono::sys_days(day) + std::chrono::hours(hour) + std::chrono::minutes(minute) +
           Seconds(second) - parse_offset(text, at);
}

std::chrono::minutes ceil_minutes(Seconds span) {
    return std::chrono::ceil<std::chrono::minutes>(span);
}

Instant SystemClock::now() const {
    return std::chrono::floor<Seconds>(std::chrono::system_clock::now());
}

}  // namespace waybourne
