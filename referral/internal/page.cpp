#include "referral/internal/page.hpp"

#include <algorithm>
#include <utility>

namespace waybourne::referral {

namespace {

bool continues_a_character(char byte) {
    return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U;
}

/// The bytes that the first `columns` characters take.
std::size_t bytes_of(std::string_view text, std::size_t columns) {
    std::size_t at = 0;
    for (; at < text.size(); ++at) {
        if (!continues_a_character(text[at]) && columns-- == 0) {
            break;
        }
    }
    return at;
}

}  // namespace

std::size_t columns_of(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(
        text.begin(), text.end(), [](char byte) { return !continues_a_character(byte); }));
}

std::vector<std::string> wrapped(std::string_view text, std::size_t columns) {
    std::vector<std::string> lines;
    std::string indent;
    while (columns_of(text) + indent.size() > columns) {
        const std::size_t room = bytes_of(text, columns - indent.size());
        std::size_t end = text.substr(0, room + 1).rfind(' ');
        if (end == std::string_view::npos || end == 0) {
            end = room;
        }
        lines.push_back(indent + std::string(text.substr(0, end)));
        text.remove_prefix(end);
        text.remove_prefix(std::min(text.find_first_not_of(' '), text.size()));
        indent = "  ";
    }
    if (!text.empty()) {
        lines.push_back(indent + std::string(text));
    }
    return lines;
}

std::string to_fill_in(const std::string& label, std::size_t columns) {
    const std::size_t taken = columns_of(label) + 1;
    return label + " " + std::string(columns > taken + 3 ? columns - taken : 3, '_');
}

std::string listed(const std::vector<std::string>& parts) {
    std::string all;
    for (const std::string& part : parts) {
        all += (all.empty() || part.empty() ? "" : "; ") + part;
    }
    return all;
}

Section::Section(std::string_view heading, std::size_t columns, std::size_t most)
    : columns_(columns), most_(most) {
    for (std::string& line : wrapped(heading, columns)) {
        lines_.push_back(std::move(line));
    }
}

void Section::add(std::string_view paragraph) {
    for (std::string& line : wrapped(paragraph, columns_)) {
        lines_.push_back(std::move(line));
    }
}

}  // namespace waybourne::referral
