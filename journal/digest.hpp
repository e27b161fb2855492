#pragma once
/// The fingerprints that chain the journal.

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace waybourne::journal {

/// A SHA-256 (FIPS 180-4). All zeros stands for "nothing before it".
struct Digest {
    std::array<std::uint8_t, 32> bytes{};
    bool operator==(const Digest&) const = default;
};

/// By libsodium. O(length).
Digest digest_of(std::string_view bytes);

/// Lower-case hexadecimal digits, two for each byte.
std::string to_hex(std::string_view bytes);
std::string to_hex(const Digest& digest);

/// The bytes that an even number of hexadecimal digits stands for.
/// @throws InputError when it is not that
std::string bytes_from_hex(std::string_view hex);

/// @throws InputError unless given 64 hexadecimal digits
Digest digest_from_hex(std::string_view hex);

/// Unpredictable bytes from the operating system.
std::string random_bytes(std::size_t count);

}  // namespace waybourne::journal
