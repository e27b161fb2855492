#include "server/security/secret.hpp"

#include <sodium.h>

#include <array>

#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"
#include "vocabulary/small_letters.hpp"

namespace waybourne::server {

namespace {

void start_sodium() {
    static const bool is_started = sodium_init() >= 0;
    if (!is_started) {
        throw Unavailable("the machine gives no random numbers");
    }
}

}  // namespace

std::string random_secret() {
    start_sodium();
    constexpr std::size_t size = 32;
    constexpr int variant = sodium_base64_VARIANT_URLSAFE_NO_PADDING;
    std::array<unsigned char, size> bytes{};
    randombytes_buf(bytes.data(), bytes.size());
    std::array<char, sodium_base64_ENCODED_LEN(size, variant)> text{};
    sodium_bin2base64(text.data(), text.size(), bytes.data(), bytes.size(), variant);
    sodium_memzero(bytes.data(), bytes.size());
    return text.data();
}

std::string random_id() {
    start_sodium();
    constexpr std::string_view letters = "23456789abcdefghjkmnpqrstuvwxyz";
    constexpr std::size_t length = 8;
    std::string id;
    for (std::size_t i = 0; i < length; ++i) {
        id += letters[randombytes_uniform(letters.size())];
    }
    return id;
}

std::string hash_secret(std::string_view secret, HashCost cost) {
    start_sodium();
    std::array<char, crypto_pwhash_STRBYTES> hash{};
    if (crypto_pwhash_str_alg(hash.data(), secret.data(), secret.size(), cost.passes,
                              cost.memory_bytes, crypto_pwhash_ALG_ARGON2ID13) != 0) {
        throw Unavailable("not enough memory to hash a key");
    }
    return hash.data();
}

bool is_secret(const std::string& hash, std::string_view secret) {
    start_sodium();
    return crypto_pwhash_str_verify(hash.c_str(), secret.data(), secret.size()) == 0;
}

bool is_of_cost(const std::string& hash, HashCost cost) {
    return crypto_pwhash_str_needs_rehash(hash.c_str(), cost.passes, cost.memory_bytes) == 0;
}

std::string digest_of_secret(std::string_view secret) {
    return sha256(secret);
}

std::string_view credentials(std::string_view authorization, std::string_view scheme) {
    if (authorization.size() <= scheme.size() || authorization[scheme.size()] != ' ') {
        return {};
    }
    for (std::size_t i = 0; i < scheme.size(); ++i) {
        if (small_letter(authorization[i]) != scheme[i]) {
            return {};
        }
    }
    return authorization.substr(scheme.size() + 1);
}

bool BearerSecret::is_shown_in(std::string_view authorization) const {
    const std::string_view shown = credentials(authorization, "bearer");
    return !digest_.empty() && !shown.empty() && digest_of_secret(shown) == digest_;
}

}  // namespace waybourne::server
