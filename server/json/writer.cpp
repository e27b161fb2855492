#include "server/json/writer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
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

/// Appends `units` of 10^-decimals (at most 15) without trailing zeros, from the last digit to the
/// first. A coordinate costs a fraction of what the general formatting does, and a way has
/// hundreds.
void append_decimal(std::string& out, std::int64_t units, int decimals) {
    std::array<char, 40> text;  // left as it is: only what is written is read
    char* const end = text.data() + text.size();
    char* at = end;
    std::uint64_t rest =
        units < 0 ? 0 - static_cast<std::uint64_t>(units) : static_cast<std::uint64_t>(units);
    const auto put_last_digit = [&] {
        *--at = static_cast<char>('0' + rest % 10);
        rest /= 10;
    };
    for (; decimals > 0 && rest % 10 == 0; --decimals) {
        rest /= 10;
    }
    if (decimals > 0) {
        for (; decimals > 0; --decimals) {
            put_last_digit();
        }
        *--at = '.';
    }
    do {
        put_last_digit();
    } while (rest > 0);
    if (units < 0) {
        *--at = '-';
    }
    out.append(at, end);
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

void append_quoted(std::string& out, std::string_view text) {
    out += '"';
    for (std::size_t at = 0; at < text.size();) {
        std::size_t run = at;
        while (run < text.size() && plain_bytes[static_cast<unsigned char>(text[run])]) {
            ++run;
        }
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
