#pragma once
/// What an id that came from outside may be made of.

#include <algorithm>
#include <string_view>

namespace waybourne::server {

/// Letters, digits and -_.: only, at least one: needs no escape in a path, a query or a log line,
/// and is no free text.
inline bool is_plain_id(std::string_view text) {
    return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) {
        return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
               c == '-' || c == '_' || c == '.' || c == ':';
    });
}

}  // namespace waybourne::server
