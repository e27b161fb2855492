#include "server/messages/said.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "referral/referral_code.hpp"
#include "server/messages/text_words.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/small_letters.hpp"

namespace waybourne::server {

namespace {

/// More than two messages hold: nobody types that.
constexpr std::size_t longest = 512;

bool is_digit(char letter) {
    return letter >= '0' && letter <= '9';
}

bool is_letter(char letter) {
    return (letter >= 'A' && letter <= 'Z') || letter == '_';
}

/// Words of capital letters and digits; everything else parts them, but a colon within a time.
std::vector<std::string> words_of(std::string_view text) {
    std::vector<std::string> words(1);
    for (std::size_t i = 0; i < text.size(); ++i) {
        char letter = text[i];
        if (letter >= 'a' && letter <= 'z') {
            letter = static_cast<char>(letter - 'a' + 'A');
        }
        const bool is_between_digits =
            i > 0 && is_digit(text[i - 1]) && i + 1 < text.size() && is_digit(text[i + 1]);
        if (is_digit(letter) || is_letter(letter) || (letter == ':' && is_between_digits)) {
            words.back() += letter;
        } else if (!words.back().empty()) {
            words.emplace_back();
        }
    }
    if (words.back().empty()) {
        words.pop_back();
    }
    return words;
}

/// `18:00` or `8:30`.
std::optional<int> clock_minutes(const std::string& word) {
    const std::size_t colon = word.find(':');
    constexpr std::size_t longest_time = 5;
    if (colon == std::string::npos || colon == 0 || colon > 2 || word.size() != colon + 3 ||
        word.size() > longest_time || word.find_first_not_of("0123456789:") != std::string::npos) {
        return std::nullopt;
    }
    const int hours = std::stoi(word.substr(0, colon));
    const int minutes = std::stoi(word.substr(colon + 1));
    constexpr int most_hours = 23;
    constexpr int in_an_hour = 60;
    return hours > most_hours || minutes >= in_an_hour
               ? std::nullopt
               : std::optional(hours * in_an_hour + minutes);
}

std::optional<SaidReady> ready_of(std::vector<std::string> words) {
    SaidReady ready{true, {}, {}};
    if (!words.empty() && words.front() == "NOT") {
        ready.is_ready = false;
        words.erase(words.begin());
    }
    if (words.empty() || words.front() != "READY") {
        return std::nullopt;
    }
    words.erase(words.begin());
    if (words.size() >= 2 && words[words.size() - 2] == "UNTIL") {
        ready.until_minutes = clock_minutes(words.back());
        if (!ready.until_minutes) {
            return std::nullopt;
        }
        words.resize(words.size() - 2);
    }
    for (const std::string& word : words) {
        ready.about += (ready.about.empty() ? "" : "_") + small_letters(word);
    }
    return ready.about.empty() ? std::nullopt : std::optional(ready);
}

std::optional<std::string> code_of_words(const std::string& joined) {
    try {
        return referral::parse_referral_code(joined);
    } catch (const InputError&) {
        return std::nullopt;
    }
}

}  // namespace

SaidText parse_said_text(std::string_view text) {
    SaidText said;
    if (text.size() > longest) {
        return said;
    }
    const auto words = words_of(plain_text(text));
    said.ready = ready_of(words);
    if (said.ready) {
        return said;
    }
    // Words of our own messages that people write back.
    static constexpr std::array<std::string_view, 12> filling{
        "REPLY", "CASE",    "CODE", "ANSWER", "REPONSE", "REPONDEZ",
        "CAS",   "CHIFFRE", "JIBU", "KESI",   "NAMBA",   "TARAKIMU"};
    // A code may be written in groups, and a group may be one digit: the digit that is meant stands
    // first or last.
    std::vector<std::string> left;
    for (const std::string& word : words) {
        if (std::find(filling.begin(), filling.end(), word) == filling.end()) {
            left.push_back(word);
        }
    }
    std::string digit;
    const auto is_one_digit = [](const std::string& word) {
        return word.size() == 1 && is_digit(word[0]);
    };
    if (!left.empty() && is_one_digit(left.front())) {
        digit = left.front();
        left.erase(left.begin());
    } else if (!left.empty() && is_one_digit(left.back())) {
        digit = left.back();
        left.pop_back();
    }
    std::string rest;
    for (const std::string& word : left) {
        rest += word;
    }
    if (digit.empty()) {
        return said;
    }
    if (!rest.empty()) {
        said.code = code_of_words(rest);
        if (!said.code) {
            return said;
        }
    }
    said.digit = digit[0] - '0';
    return said;
}

}  // namespace waybourne::server
