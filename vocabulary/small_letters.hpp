#pragma once
/// Capitals of the Latin alphabet as small letters; every other byte stays, in every locale.

#include <algorithm>
#include <string>
#include <string_view>

namespace waybourne {

constexpr char small_letter(char letter) {
    return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
}

inline std::string small_letters(std::string_view text) {
    std::string small{text};
    std::transform(small.begin(), small.end(), small.begin(), small_letter);
    return small;
}

}  // namespace waybourne
