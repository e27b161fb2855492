#include "server/json/writer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstring>
#include <iterator>
#include <utility>

namespace waybourne::server {

namespace {

/// The length of the well-formed UTF-8 letter that starts at `at` (RFC 3629, table in section 4:
/// no overlong forms, no surrogates, nothing above U+10FFFF); 0 when it is not one.
std::size_t letter_length(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) {
        return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
    };
    const auto is_tail = [&](std::size_t i) { return (byte(i) & 0xC0U) == 0x80U; };
    const unsigned first = byte(at);
    const unsigned second = byte(at + 1);
    if (first < 0x80U) {
        return 1;
    }
    if (first >= 0xC2U && first <= 0xDFU) {
        return is_tail(at + 1) ? 2 : 0;
    }
    if (first >= 0xE0U && first <= 0xEFU) {
        const bool fits = (first != 0xE0U || second >= 0xA0U) && (first != 0xEDU || second < 0xA0U);
        return fits && is_tail(at + 1) && is_tail(at + 2) ? 3 : 0;
    }
    if (first >= 0xF0U && first <= 0xF4U) {
        const bool fits = (first != 0xF0U || second >= 0x90U) && (first != 0xF4U || second < 0x90U);
        return fits && is_tail(at + 1) && is_tail(at + 2) && is_tail(at + 3) ? 4 : 0;
    }
    return 0;
}

/// The two digits of each number below 100, one after the other.
constexpr std::array<char, 200> digit_pairs = [] {
    std::array<char, 200> pairs{};
    for (std::size_t i = 0; i < pairs.size() / 2; ++i) {
        pairs[2 * i] = static_cast<char>('0' + i / 10);
        pairs[2 * i + 1] = static_cast<char>('0' + i % 10);
    }
    return pairs;
}();

/// Room for any whole number and 15 decimals.
constexpr std::size_t longest_number = 40;

/// Writes `units` of 10^-decimals (at most 15) without trailing zeros, so that the last digit
/// stands before `end`; gives where the text begins. A coordinate costs a fraction of what the
/// general formatting does, and a way has hundreds.
char* put_decimal(char* end, std::int64_t units, int decimals) {
    char* at = end;
    std::uint64_t rest =
        units < 0 ? 0 - static_cast<std::uint64_t>(units) : static_cast<std::uint64_t>(units);
    for (; decimals > 0 && rest % 10 == 0; --decimals) {
        rest /= 10;
    }
    const auto put_digit = [&] {
        *--at = static_cast<char>('0' + rest % 10);
        rest /= 10;
    };
    const auto put_two_digits = [&] {
        at -= 2;
        std::memcpy(at, digit_pairs.data() + 2 * (rest % 100), 2);
        rest /= 100;
    };
    if (decimals > 0) {
        for (; decimals > 1; decimals -= 2) {
            put_two_digits();
        }
        if (decimals == 1) {
            put_digit();
        }
        *--at = '.';
    }
    while (rest > 99) {
        put_two_digits();
    }
    if (rest > 9) {
        put_two_digits();
    } else {
        put_digit();
    }
    if (units < 0) {
        *--at = '-';
    }
    return at;
}

void append_decimal(std::string& out, std::int64_t units, int decimals) {
    std::array<char, longest_number> text;  // left as it is: only what is written is read
    char* const end = text.data() + text.size();
    out.append(put_decimal(end, units, decimals), end);
}

/// Which bytes stand in a JSON text as they are. DEL and all of UTF-8's longer letters are looked
/// at one by one.
constexpr std::array<bool, 256> plain_bytes = [] {
    std::array<bool, 256> plain{};
    for (std::size_t byte = ' '; byte < 0x7F; ++byte) {
        plain[byte] = byte != '"' && byte != '\\';
    }
    return plain;
}();

/// Whether one of eight bytes is not plain. Found with all of them at once: a byte that is above
/// 0x7E, below the space, or one of the two letters that JSON escapes, sets its highest bit. (A
/// borrow may set a bit too many beside such a byte, never one too few.)
bool has_special(std::uint64_t eight) {
    constexpr std::uint64_t ones = 0x0101010101010101U;
    constexpr std::uint64_t high = 0x80 * ones;
    const auto has_zero = [&](std::uint64_t bytes) { return (bytes - ones) & ~bytes & high; };
    const std::uint64_t above = (eight + ones) | eight;
    const std::uint64_t below = (eight - ' ' * ones) & ~eight;
    return ((above | below) & high) != 0 || has_zero(eight ^ '"' * ones) != 0 ||
           has_zero(eight ^ '\\' * ones) != 0;
}

/// Where the plain bytes from `at` on end.
std::size_t end_of_plain(std::string_view text, std::size_t at) {
    constexpr std::size_t step = sizeof(std::uint64_t);
    for (std::uint64_t eight = 0; at + step <= text.size(); at += step) {
        std::memcpy(&eight, text.data() + at, step);
        if (has_special(eight)) {
            break;
        }
    }
    while (at < text.size() && plain_bytes[static_cast<unsigned char>(text[at])]) {
        ++at;
    }
    return at;
}

void append_quoted(std::string& out, std::string_view text) {
    out += '"';
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t run = end_of_plain(text, at);
        out.append(text, at, run - at);  // nearly all of every text
        if (run == text.size()) {
            break;
        }
        at = run;
        const char letter = text[at];
        const std::size_t length = letter_length(text, at);
        if (length == 0) {
            out += "\xEF\xBF\xBD";
            ++at;
            continue;
        }
        if (letter == '"' || letter == '\\') {
            out += '\\';
            out += letter;
        } else if (letter == '\n') {
            out += "\\n";
        } else if (static_cast<unsigned char>(letter) < 0x20U) {
            fmt::format_to(std::back_inserter(out), "\\u{:04x}", static_cast<unsigned>(letter));
        } else {
            out.append(text, at, length);
        }
        at += length;
    }
    out += '"';
}

}  // namespace

void JsonWriter::new_line() {
    if (indent_ > 0) {
        text_ += '\n';
        text_.append(static_cast<std::size_t>(indent_) * static_cast<std::size_t>(depth_), ' ');
    }
}

void JsonWriter::before_value() {
    if (after_key_) {
        after_key_ = false;
        return;
    }
    if (depth_ > 0) {
        if (!is_first_) {
            text_ += ',';
        }
        new_line();
    }
    is_first_ = false;
}

JsonWriter& JsonWriter::open(char bracket) {
    before_value();
    text_ += bracket;
    ++depth_;
    is_first_ = true;
    return *this;
}

JsonWriter& JsonWriter::close(char bracket) {
    assert(depth_ > 0 && !after_key_);
    --depth_;
    if (!is_first_) {
        new_line();
    }
    text_ += bracket;
    is_first_ = false;
    return *this;
}

JsonWriter& JsonWriter::key(std::string_view name) {
    before_value();
    append_quoted(text_, name);
    text_ += indent_ > 0 ? ": " : ":";
    after_key_ = true;
    return *this;
}

JsonWriter& JsonWriter::value(std::string_view text) {
    before_value();
    append_quoted(text_, text);
    return *this;
}

JsonWriter& JsonWriter::value(bool boolean) {
    return raw(boolean ? "true" : "false");
}

JsonWriter& JsonWriter::value(std::int64_t number) {
    before_value();
    append_decimal(text_, number, 0);
    return *this;
}

JsonWriter& JsonWriter::value(double number, int decimals) {
    if (!std::isfinite(number)) {
        return null();
    }
    constexpr std::array<double, 16> powers_of_ten{1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                   1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    const double scaled = number * powers_of_ten.at(static_cast<std::size_t>(decimals));
    constexpr double exact_whole_numbers = 9e15;
    if (std::abs(scaled) >= exact_whole_numbers) {
        return raw(fmt::format("{:.{}f}", number, decimals));
    }
    before_value();
    append_decimal(text_, std::llround(scaled), decimals);
    return *this;
}

JsonWriter& JsonWriter::value(const GeoPoint& position) {
    constexpr int decimals = 7;
    constexpr double units = 1e7;
    std::array<char, 2 * longest_number> text;  // left as it is: only what is written is read
    char* const end = text.data() + text.size();
    char* at = end;
    *--at = ']';
    at = put_decimal(at, std::llround(position.latitude().degrees * units), decimals);
    if (indent_ > 0) {
        *--at = ' ';
    }
    *--at = ',';
    at = put_decimal(at, std::llround(position.longitude().degrees * units), decimals);
    *--at = '[';
    return raw({at, static_cast<std::size_t>(end - at)});
}

JsonWriter& JsonWriter::value(const std::vector<std::string>& texts) {
    begin_list();
    for (const std::string& text : texts) {
        value(text);
    }
    return end_list();
}

JsonWriter& JsonWriter::null() {
    return raw("null");
}

JsonWriter& JsonWriter::raw(std::string_view json) {
    before_value();
    text_ += json;
    return *this;
}

std::string JsonWriter::take() {
    assert(depth_ == 0);
    is_first_ = true;
    return std::exchange(text_, {});
}

namespace {

void write(JsonWriter& json, const JsonValue& value) {
    switch (value.kind()) {
        case JsonKind::null:
            json.null();
            break;
        case JsonKind::boolean:
            json.value(value.boolean());
            break;
        case JsonKind::number:
            json.raw(fmt::format("{}", value.number()));
            break;
        case JsonKind::text:
            json.value(value.text());
            break;
        case JsonKind::list:
            json.begin_list();
            for (const JsonValue& item : value.items()) {
                write(json, item);
            }
            json.end_list();
            break;
        case JsonKind::object:
            json.begin_object();
            for (const JsonMember& member : value.members()) {
                json.key(member.name);
                write(json, member.value);
            }
            json.end_object();
            break;
    }
}

}  // namespace

std::string to_json(const JsonValue& value) {
    JsonWriter json;
    write(json, value);
    return json.take();
}

}  // namespace waybourne::server
