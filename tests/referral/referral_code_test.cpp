#include "referral/referral_code.hpp"

#include <doctest/doctest.h>

#include <random>
#include <set>

#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::referral;

TEST_CASE("No code holds two characters that look alike") {
    for (const std::string_view pair :
         {"0O", "0D", "0Q", "OQ", "1I", "1L", "IL", "2Z", "5S", "6G", "8B", "UV"}) {
        CAPTURE(pair);
        const bool both = referral_code_alphabet.find(pair[0]) != std::string_view::npos &&
                          referral_code_alphabet.find(pair[1]) != std::string_view::npos;
        CHECK_FALSE(both);
    }
    CHECK(std::set<char>(referral_code_alphabet.begin(), referral_code_alphabet.end()).size() ==
          referral_code_alphabet.size());
}

TEST_CASE("A code has eight characters, and different numbers have different codes") {
    std::set<std::string> codes;
    for (std::uint64_t number = 0; number < 5000; ++number) {
        const std::string code = to_referral_code(number * 680'965);
        CHECK(code.size() == referral_code_length);
        CHECK(parse_referral_code(code) == code);
        codes.insert(code);
    }
    CHECK(codes.size() == 5000);
    CHECK(to_referral_code(referral_code_count) == to_referral_code(0));
}

TEST_CASE("The check is the weighted sum of the standard") {
    // By hand: seven times the value 0 leaves 1 for the last character, the alphabet's second.
    CHECK(to_referral_code(0) == "22222223");
    // The number 1: value 1 × 5 from the last place but one; 23 + 1 - 5 = 19, the twentieth: T.
    CHECK(to_referral_code(1) == std::string("2222223") + referral_code_alphabet[19]);
}

TEST_CASE("People write codes in small letters and in groups") {
    const std::string code = to_referral_code(123'456'789);
    std::string written = code.substr(0, 4) + "-" + code.substr(4, 2) + " " + code.substr(6);
    for (char& letter : written) {
        letter = static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
    }
    CHECK(parse_referral_code(written) == code);
}

TEST_CASE("Every single wrong character is noticed, and every two that are swapped") {
    std::mt19937_64 random{20260304};
    for (int round = 0; round < 200; ++round) {
        const std::string code = to_referral_code(random());
        for (std::size_t at = 0; at < code.size(); ++at) {
            for (const char wrong : referral_code_alphabet) {
                std::string misread = code;
                misread[at] = wrong;
                if (wrong != code[at]) {
                    CHECK_THROWS_AS(parse_referral_code(misread), InputError);
                }
            }
            for (std::size_t other = at + 1; other < code.size(); ++other) {
                std::string swapped = code;
                std::swap(swapped[at], swapped[other]);
                if (swapped != code) {
                    CHECK_THROWS_AS(parse_referral_code(swapped), InputError);
                }
            }
        }
    }
}

TEST_CASE("What is no code is refused") {
    for (const char* text : {"", "2222222", "222222233", "2222222O", "2222222é", "--------"}) {
        CAPTURE(text);
        CHECK_THROWS_AS(parse_referral_code(text), InputError);
    }
}
