#include "referral/referral_code.hpp"

#include <cctype>

#include "vocabulary/error.hpp"

namespace waybourne::referral {

namespace {

constexpr std::size_t base = referral_code_alphabet.size();
constexpr std::size_t root = 5;
constexpr std::size_t remainder_wanted = 1;

/// The weighted sum so far, the next character's weight being one power of the root lower.
std::size_t sum_with(std::size_t sum, std::size_t value) {
    return (sum * root + value) % base;
}

}  // namespace

std::string to_referral_code(std::uint64_t number) {
    std::string code(referral_code_length, referral_code_alphabet.front());
    std::uint64_t rest = number % referral_code_count;
    for (std::size_t at = referral_code_length - 1; at-- > 0; rest /= base) {
        code[at] = referral_code_alphabet[rest % base];
    }
    std::size_t sum = 0;
    for (std::size_t at = 0; at + 1 < referral_code_length; ++at) {
        sum = sum_with(sum, referral_code_alphabet.find(code[at]));
    }
    code.back() = referral_code_alphabet[(base + remainder_wanted - sum * root % base) % base];
    return code;
}

std::string parse_referral_code(std::string_view text) {
    std::string code;
    std::size_t sum = 0;
    for (const char given : text) {
        if (given == ' ' || given == '-') {
            continue;
        }
        const char letter = static_cast<char>(std::toupper(static_cast<unsigned char>(given)));
        const std::size_t value = referral_code_alphabet.find(letter);
        if (value == std::string_view::npos) {
            throw InputError(std::string("no referral code has the character '") + given +
                             "'; codes are made of " + std::string(referral_code_alphabet));
        }
        code += letter;
        sum = sum_with(sum, value);
    }
    if (code.size() != referral_code_length) {
        throw InputError("a referral code has 8 characters, this one " +
                         std::to_string(code.size()));
    }
    if (sum != remainder_wanted) {
        throw InputError("the referral code " + code +
                         " has a wrong character or two that are swapped: read it again");
    }
    return code;
}

}  // namespace waybourne::referral
