#include "phone/sha256.hpp"

#include <doctest/doctest.h>

#include <random>

#include "vocabulary/sha256.hpp"

namespace waybourne::phone {

// NIST, "SHA-256 example values" for FIPS 180-4: one block, two blocks; the empty text and a
// million letters from the set of the "SHA-3 competition" example values (from memory).
TEST_CASE("The phone's fingerprints are the published ones") {
    CHECK(plain_sha256("abc") ==
          "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(plain_sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
          "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    CHECK(plain_sha256("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    CHECK(plain_sha256(std::string(1'000'000, 'a')) ==
          "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST_CASE("The phone's fingerprint of anything is the server's") {
    std::mt19937 random{20260304};
    // Every length around the ends of the first blocks, then some at random.
    for (std::size_t length = 0; length < 300; ++length) {
        std::string bytes;
        for (std::size_t i = 0; i < (length < 200 ? length : random() % 5000); ++i) {
            bytes += static_cast<char>(random() % 256);
        }
        CAPTURE(bytes.size());
        CHECK(plain_sha256(bytes) == sha256(bytes));
    }
}

}  // namespace waybourne::phone
