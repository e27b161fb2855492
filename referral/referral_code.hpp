#pragma once
/// A referral's code: the one form in texts, calls, notes and addresses.
///
/// Eight characters of an alphabet without look-alikes. Of the 36 digits and capital letters those
/// that are mistaken for another in print or in a hurried hand are left out: 0 D O Q, 1 I L, 2's Z,
/// 5's S, 6's G, 8's B, U V. The 23 that remain are a prime number, which the check needs.
///
/// The last character checks the others in the manner of the pure systems of ISO/IEC 7064 (from
/// memory): the sum of value × 5^(7 - position) is 1 modulo 23. As 5 is a primitive root of 23, the
/// eight weights differ, so every single wrong character and every swap of two different
/// characters, neighbours or not, is found; so is a doubled pair misheard (AA for CC). Others pass
/// one time in 23.

#include <cstdint>
#include <string>
#include <string_view>

namespace waybourne::referral {

inline constexpr std::string_view referral_code_alphabet = "23456789ACEFHJKMNPRTWXY";
inline constexpr std::size_t referral_code_length = 8;
/// How many codes there are: 23^7, about 3.4 thousand million.
inline constexpr std::uint64_t referral_code_count = 3'404'825'447;

/// The code of a number; numbers that differ by a multiple of `referral_code_count` share a code.
/// For codes that nobody can guess, give it a random number.
std::string to_referral_code(std::uint64_t number);

/// Reads a code as people write it: small letters, spaces and hyphens are fine.
/// @returns the code in its one form
/// @throws InputError saying what is wrong: the length, a character that no code has, or that the
///         check does not fit and it must be read again
std::string parse_referral_code(std::string_view text);

}  // namespace waybourne::referral
