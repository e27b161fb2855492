#include "vocabulary/sha256.hpp"

#include <doctest/doctest.h>

using namespace waybourne;

TEST_CASE("The published examples of SHA-256 come out as published") {
    // NIST, Cryptographic Standards and Guidelines, example values for SHA-256 ("abc", two blocks),
    // and the empty message; from memory of those tables.
    CHECK(sha256("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
          "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    CHECK(sha256("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}
