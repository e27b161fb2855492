#pragma once
/// Choices and their wire names, which stand in the order of the enumeration.

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>
#include <string_view>

namespace waybourne::referral {

template <typename Choice, std::size_t count>
std::string_view name_in(const std::array<std::string_view, count>& names, Choice choice) {
    return names.at(static_cast<std::size_t>(choice));
}

template <typename Choice, std::size_t count>
std::optional<Choice> find_in(const std::array<std::string_view, count>& names,
                              std::string_view name) {
    const auto* const found = std::find(names.begin(), names.end(), name);
    if (found == names.end()) {
        return std::nullopt;
    }
    return static_cast<Choice>(found - names.begin());
}

}  // namespace waybourne::referral
