#pragma once
/// JSON as the sample's files write it: by hand, so that every byte is ours and the same
/// everywhere.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "maps-sample/generator/plane.hpp"

namespace waybourne::sample {

/// In double quotes. The sample's texts hold neither quotes nor backslashes nor control characters.
inline std::string quoted(std::string_view text) {
    return '"' + std::string{text} + '"';
}

/// Joined with `separator`.
inline std::string joined(const std::vector<std::string>& parts, std::string_view separator) {
    std::string text;
    for (const std::string& part : parts) {
        text += (text.empty() ? "" : std::string{separator}) + part;
    }
    return text;
}

/// `[ … ]` on one line.
inline std::string list_of(const std::vector<std::string>& values) {
    return "[" + joined(values, ", ") + "]";
}

using Member = std::pair<std::string, std::string>;

/// `{ … }` on one line; members with an empty value are left out.
inline std::string object_of(const std::vector<Member>& members) {
    std::vector<std::string> parts;
    for (const auto& [name, value] : members) {
        if (!value.empty()) {
            parts.push_back(quoted(name) + ": " + value);
        }
    }
    return "{" + joined(parts, ", ") + "}";
}

/// `{ … }` with one member on each line, indented by `indent` spaces.
inline std::string block_of(const std::vector<Member>& members, std::size_t indent) {
    const std::string margin(indent, ' ');
    std::vector<std::string> parts;
    for (const auto& [name, value] : members) {
        if (!value.empty()) {
            parts.push_back(margin + "  " + quoted(name) + ": " + value);
        }
    }
    return "{\n" + joined(parts, ",\n") + "\n" + margin + "}";
}

/// `[ … ]` with one value on each line.
inline std::string lines_of(const std::vector<std::string>& values, std::size_t indent) {
    const std::string margin(indent, ' ');
    return "[\n" + margin + "  " + joined(values, ",\n" + margin + "  ") + "\n" + margin + "]";
}

/// A GeoJSON point (RFC 7946): longitude first.
inline std::string point_of(Point place) {
    return object_of(
        {{"type", quoted("Point")},
         {"coordinates", "[" + longitude_text(place) + ", " + latitude_text(place) + "]"}});
}

}  // namespace waybourne::sample
