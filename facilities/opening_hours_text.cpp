#include <algorithm>
#include <array>
#include <utility>

#include "facilities/opening_hours.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::facilities {

namespace {

constexpr std::size_t longest_text = 1000;
constexpr int hour_minutes = 60;
constexpr int day_minutes = 24 * hour_minutes;

enum class TokenKind { weekday, month, holidays, number, time, always, open, off, sign, end };

struct Token {
    TokenKind kind = TokenKind::end;
    /// The weekday (0 is Monday), the month (1 is January), the number, the minutes of the day, or
    /// the sign's character.
    int value = 0;
    std::size_t at = 0;
};

constexpr std::array<std::string_view, 7> weekday_names{"mo", "tu", "we", "th", "fr", "sa", "su"};
constexpr std::array<std::string_view, 12> month_names{"jan", "feb", "mar", "apr", "may", "jun",
                                                       "jul", "aug", "sep", "oct", "nov", "dec"};

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

[[noreturn]] void refuse(std::string_view text, std::size_t at, std::string_view why) {
    const std::string rest = shortened(text.substr(std::min(at, text.size())), 20);
    throw InputError("opening hours '" + shortened(text, 80) + "': " +
                     (rest.empty() ? "at the end" : "at '" + rest + "'") + ": " + std::string(why));
}

/// Cuts the text into tokens.
class Scanner {
public:
    explicit Scanner(std::string_view text) : text_(text) {}

    std::vector<Token> tokens() {
        std::vector<Token> all;
        do {
            all.push_back(next());
        } while (all.back().kind != TokenKind::end);
        return all;
    }

private:
    Token next() {
        while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t')) {
            ++at_;
        }
        const std::size_t start = at_;
        if (at_ == text_.size()) {
            return {TokenKind::end, 0, start};
        }
        if (text_.substr(at_, 4) == "24/7") {
            at_ += 4;
            return {TokenKind::always, 0, start};
        }
        if (is_digit(text_[at_])) {
            return number(start);
        }
        if (is_letter(text_[at_])) {
            return word(start);
        }
        if (std::string_view("-,;:").find(text_[at_]) != std::string_view::npos) {
            return {TokenKind::sign, text_[at_++], start};
        }
        refuse(text_, start, "only weekdays, dates, PH, times, off and 24/7 are understood");
    }

    Token number(std::size_t start) {
        const int first = digits(start);
        const bool is_time =
            at_ + 1 < text_.size() && text_[at_] == ':' && is_digit(text_[at_ + 1]);
        if (!is_time) {
            return {TokenKind::number, first, start};
        }
        const std::size_t minutes_at = ++at_;
        const int minutes = digits(start);
        if (at_ - minutes_at != 2 || minutes >= hour_minutes || first > 48) {
            refuse(text_, start, "a time is written hh:mm");
        }
        return {TokenKind::time, first * hour_minutes + minutes, start};
    }

    int digits(std::size_t start) {
        int value = 0;
        const std::size_t first = at_;
        for (; at_ < text_.size() && is_digit(text_[at_]); ++at_) {
            if (at_ - first == 4) {
                refuse(text_, start, "a number has at most four digits");
            }
            value = value * 10 + (text_[at_] - '0');
        }
        return value;
    }

    Token word(std::size_t start) {
        std::string lower;
        for (; at_ < text_.size() && is_letter(text_[at_]); ++at_) {
            lower += static_cast<char>(text_[at_] | 0x20);
        }
        const auto day = std::find(weekday_names.begin(), weekday_names.end(), lower);
        if (day != weekday_names.end()) {
            return {TokenKind::weekday, static_cast<int>(day - weekday_names.begin()), start};
        }
        const auto month = std::find(month_names.begin(), month_names.end(), lower);
        if (month != month_names.end()) {
            return {TokenKind::month, static_cast<int>(month - month_names.begin()) + 1, start};
        }
        if (lower == "ph") {
            return {TokenKind::holidays, 0, start};
        }
        if (lower == "off" || lower == "closed") {
            return {TokenKind::off, 0, start};
        }
        if (lower == "open") {
            return {TokenKind::open, 0, start};
        }
        refuse(text_, start, "not a weekday (Mo), a month (Jan), PH, off, closed or open");
    }

    std::string_view text_;
    std::size_t at_ = 0;
};

/// One day of a year: month × 32 + day, as `DaySelector::DateRange` has it.
std::int16_t day_of_year(int month, int day) {
    return static_cast<std::int16_t>(month * 32 + day);
}

/// Reads rules from tokens, one function per line of the grammar in the header.
class Parser {
public:
    explicit Parser(std::string_view text) : text_(text), tokens_(Scanner(text).tokens()) {}

    std::vector<HoursRule> rules() {
        std::vector<HoursRule> all{rule(false)};
        while (peek().kind != TokenKind::end) {
            const bool adds = peek_sign(',');
            if (!adds && !peek_sign(';')) {
                fail("expected ; and another rule, or the end");
            }
            if (adds && !has_times_) {
                fail("after a comma that follows days, more days are expected");
            }
            ++next_;
            if (!adds && peek().kind == TokenKind::end) {
                break;  // a semicolon at the very end is harmless
            }
            all.push_back(rule(adds));
        }
        return all;
    }

private:
    const Token& peek(std::size_t ahead = 0) const {
        return tokens_[std::min(next_ + ahead, tokens_.size() - 1)];
    }
    bool peek_sign(char sign, std::size_t ahead = 0) const {
        return peek(ahead).kind == TokenKind::sign && peek(ahead).value == sign;
    }
    bool take_sign(char sign) {
        if (!peek_sign(sign)) {
            return false;
        }
        ++next_;
        return true;
    }
    [[noreturn]] void fail(std::string_view why) const { refuse(text_, peek().at, why); }

    HoursRule rule(bool adds) {
        HoursRule made;
        made.adds = adds;
        const std::size_t start = next_;
        if (peek().kind == TokenKind::always) {
            ++next_;
            has_times_ = true;
            return made;
        }
        while (starts_date(0)) {
            made.days.dates.push_back(dates());
            if (!peek_sign(',') || !starts_date(1)) {
                break;
            }
            ++next_;
        }
        if (!made.days.dates.empty()) {
            take_sign(':');
        }
        weekdays(made.days);
        times(made);
        has_times_ = !made.times.empty();
        if (peek().kind == TokenKind::open || peek().kind == TokenKind::off) {
            made.is_open = peek().kind == TokenKind::open;
            if (adds && !made.is_open) {
                fail("after a comma a rule can only add; write ; before a rule that closes");
            }
            ++next_;
        }
        if (next_ == start) {
            fail("expected days, times, off or 24/7");
        }
        return made;
    }

    /// A month, or a year and a month.
    bool starts_date(std::size_t ahead) const {
        return peek(ahead).kind == TokenKind::month ||
               (peek(ahead).kind == TokenKind::number && peek(ahead + 1).kind == TokenKind::month);
    }

    DaySelector::DateRange dates() {
        const std::size_t start = peek().at;
        const int from_year = year();
        const int from_month = peek().value;
        ++next_;
        const int from_day = day(from_month, from_year);
        int until_year = from_year;
        int until_month = from_month;
        int until_day = from_day;
        if (take_sign('-')) {
            if (starts_date(0)) {
                const int written = year();
                until_year = written != 0 ? written : from_year;
                until_month = peek().value;
                ++next_;
                until_day = day(until_month, until_year);
            } else {
                until_day = day(from_month, from_year);
            }
            if ((from_day == 0) != (until_day == 0) || (from_year == 0) != (until_year == 0)) {
                refuse(text_, start, "both ends of a range are written the same way");
            }
        }
        const DaySelector::DateRange range{
            static_cast<std::int16_t>(from_year), static_cast<std::int16_t>(until_year),
            day_of_year(from_month, from_day == 0 ? 1 : from_day),
            day_of_year(until_month, until_day == 0 ? 31 : until_day)};
        if (from_year != 0 && std::pair(range.until_year, range.until_day) <
                                  std::pair(range.from_year, range.from_day)) {
            refuse(text_, start, "the range ends before it begins; give the second year too");
        }
        return range;
    }

    /// 0 when none is written.
    int year() {
        if (peek().kind != TokenKind::number) {
            return 0;
        }
        if (peek().value < 1970 || peek().value > 2200) {
            fail("a year is between 1970 and 2200");
        }
        return tokens_[next_++].value;
    }

    /// The day of the month; 0 when none is written.
    int day(int month, int in_year) {
        if (peek().kind != TokenKind::number) {
            return 0;
        }
        const std::chrono::year_month_day date{
            std::chrono::year{in_year == 0 ? 2000 : in_year},
            std::chrono::month{static_cast<unsigned>(month)},
            std::chrono::day{static_cast<unsigned>(peek().value)}};
        if (!date.ok()) {
            fail("there is no such day");
        }
        return tokens_[next_++].value;
    }

    void weekdays(DaySelector& days) {
        while (peek().kind == TokenKind::weekday || peek().kind == TokenKind::holidays) {
            if (peek().kind == TokenKind::holidays) {
                days.holidays = true;
                ++next_;
            } else {
                weekday_range(days);
            }
            const auto after_comma = peek(1).kind;
            if (!peek_sign(',') ||
                (after_comma != TokenKind::weekday && after_comma != TokenKind::holidays)) {
                return;
            }
            ++next_;
        }
    }

    void weekday_range(DaySelector& days) {
        const int from = tokens_[next_++].value;
        int until = from;
        if (take_sign('-')) {
            if (peek().kind != TokenKind::weekday) {
                fail("expected a weekday such as Fr");
            }
            until = tokens_[next_++].value;
        }
        for (int weekday = from;; weekday = (weekday + 1) % 7) {
            days.weekdays = static_cast<std::uint8_t>(days.weekdays | 1U << weekday);
            if (weekday == until) {
                return;
            }
        }
    }

    void times(HoursRule& made) {
        while (peek().kind == TokenKind::time) {
            const int from = tokens_[next_++].value;
            if (from >= day_minutes) {
                --next_;
                fail("a time begins before 24:00");
            }
            if (!take_sign('-') || peek().kind != TokenKind::time) {
                fail("times are written hh:mm-hh:mm");
            }
            int until = peek().value;
            if (until > 2 * day_minutes) {
                fail("a time ends at 48:00 at the latest");
            }
            ++next_;
            if (until <= from) {
                until += day_minutes;
            }
            made.times.push_back(
                {static_cast<std::int16_t>(from), static_cast<std::int16_t>(until)});
            if (!peek_sign(',') || peek(1).kind != TokenKind::time) {
                return;
            }
            ++next_;
        }
    }

    std::string_view text_;
    std::vector<Token> tokens_;
    std::size_t next_ = 0;
    /// Whether the rule just read has times: only then may a comma follow.
    bool has_times_ = false;
};

}  // namespace

OpeningHours parse_opening_hours(std::string_view text) {
    if (text.size() > longest_text) {
        refuse(text, text.size(), "longer than 1000 bytes");
    }
    return {std::string(text), Parser(text).rules()};
}

}  // namespace waybourne::facilities
