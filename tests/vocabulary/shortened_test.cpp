#include "vocabulary/shortened.hpp"

#include <doctest/doctest.h>

using waybourne::shortened;

TEST_CASE("A short text is shown whole") {
    CHECK(shortened("noon") == "noon");
    CHECK(shortened(std::string(40, 'x')) == std::string(40, 'x'));
}

TEST_CASE("A long text is cut, and never inside a letter") {
    CHECK(shortened(std::string(41, 'x')) == std::string(40, 'x'));
    // é is two bytes and € three in UTF-8 (RFC 3629)
    CHECK(shortened("aé", 2) == "a");
    CHECK(shortened("aé!", 3) == "aé");
    CHECK(shortened("a€", 3) == "a");
    CHECK(shortened("€€", 5) == "€");
}

TEST_CASE("Bytes that are no text at all give nothing rather than half of something") {
    CHECK(shortened("\x80\x80\x80", 2).empty());
}
