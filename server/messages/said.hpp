#pragma once
/// A text of a person taken apart, as forgivingly as is safe.

#include <optional>
#include <string>
#include <string_view>

namespace waybourne::server {

/// `READY surgeon`, `NOT READY blood until 18:00`
struct SaidReady {
    bool is_ready = false;
    std::string about;                 ///< as written, small letters, words joined by `_`
    std::optional<int> until_minutes;  ///< local clock time, minutes after midnight
    bool operator==(const SaidReady&) const = default;
};

/// What a text says; nothing of it: it was not understood.
struct SaidText {
    std::optional<int> digit;
    std::optional<std::string> code;
    std::optional<SaidReady> ready;
    bool operator==(const SaidText&) const = default;
};

/// One digit, and perhaps a code before or after it: `1`, ` 1.`, `Reply 1`, `1 7K3M-9QXA`, `case
/// 7k3m9qxa: 1`. Two digits, or any other word, are not understood: a wrong guess could move the
/// wrong case. Small letters, accents and punctuation do not matter. O(length).
SaidText parse_said_text(std::string_view text);

}  // namespace waybourne::server
