#include "vocabulary/nearest_name.hpp"

#include <doctest/doctest.h>

#include <vector>

using namespace waybourne;

namespace {
const std::vector<std::string> fields{"bleeding", "breathless", "pulse", "severe_headache"};
}

TEST_CASE("A slip of the finger finds the name that was meant") {
    CHECK(nearest_name("bleding", fields) == "bleeding");
    CHECK(nearest_name("pusle", fields) == "pulse");  // two letters swapped: one slip
    CHECK(nearest_name("severe_headach", fields) == "severe_headache");
    CHECK(nearest_name("pulse", fields) == "pulse");
}

TEST_CASE("What resembles nothing gets no suggestion") {
    CHECK(nearest_name("temperature", fields) == std::nullopt);
    CHECK(nearest_name("", fields) == std::nullopt);
    CHECK(nearest_name("pulse", {}) == std::nullopt);
    CHECK(nearest_name(std::string(10'000, 'p'), fields) == std::nullopt);
}

TEST_CASE("Among equally near names the first known one is offered") {
    const std::vector<std::string> known{"abcdeX", "abcdeY"};
    CHECK(nearest_name("abcdeZ", known) == "abcdeX");
}
