#pragma once
/// Numbers of journals that come from outside.

#include <cstdint>
#include <limits>
#include <nlohmann/json.hpp>

#include "vocabulary/error.hpp"

namespace waybourne::journal::internal {

/// @throws InputError what is no whole number from 0 up, or does not fit
template <typename Number>
Number whole_number(const nlohmann::json& value) {
    constexpr auto most = static_cast<std::uint64_t>(std::numeric_limits<Number>::max());
    if (!value.is_number_unsigned() || value.get<std::uint64_t>() > most) {
        throw InputError("a number is negative, not whole or too large");
    }
    return value.get<Number>();
}

}  // namespace waybourne::journal::internal
