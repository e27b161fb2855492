#include "journal/digest.hpp"

#include <sodium.h>

#include <algorithm>

#include "vocabulary/error.hpp"

namespace waybourne::journal {

Digest digest_of(std::string_view bytes) {
    static_assert(sizeof(Digest::bytes) == crypto_hash_sha256_BYTES);
    Digest digest;
    crypto_hash_sha256(digest.bytes.data(), reinterpret_cast<const unsigned char*>(bytes.data()),
                       bytes.size());
    return digest;
}

std::string to_hex(std::string_view bytes) {
    std::string hex(2 * bytes.size() + 1, '\0');
    sodium_bin2hex(hex.data(), hex.size(), reinterpret_cast<const unsigned char*>(bytes.data()),
                   bytes.size());
    hex.pop_back();
    return hex;
}

std::string to_hex(const Digest& digest) {
    return to_hex({reinterpret_cast<const char*>(digest.bytes.data()), digest.bytes.size()});
}

std::string bytes_from_hex(std::string_view hex) {
    std::string bytes(hex.size() / 2, '\0');
    std::size_t length = 0;
    const char* end = nullptr;
    const int result = sodium_hex2bin(reinterpret_cast<unsigned char*>(bytes.data()), bytes.size(),
                                      hex.data(), hex.size(), nullptr, &length, &end);
    if (result != 0 || end != hex.data() + hex.size() || 2 * length != hex.size()) {
        throw InputError("not an even number of hexadecimal digits");
    }
    return bytes;
}

Digest digest_from_hex(std::string_view hex) {
    Digest digest;
    if (hex.size() != 2 * digest.bytes.size()) {
        throw InputError("a hash has 64 hexadecimal digits, not " + std::to_string(hex.size()));
    }
    const std::string bytes = bytes_from_hex(hex);
    std::copy(bytes.begin(), bytes.end(), digest.bytes.begin());
    return digest;
}

std::string random_bytes(std::size_t count) {
    static const int ready = sodium_init();
    if (ready < 0) {
        throw Unavailable("the operating system gives no random numbers");
    }
    std::string bytes(count, '\0');
    randombytes_buf(bytes.data(), bytes.size());
    return bytes;
}

}  // namespace waybourne::journal
