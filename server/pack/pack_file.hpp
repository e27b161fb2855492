#pragma once
/// A district pack as a file: all that a phone needs to answer alone, signed by the server that it
/// comes from. docs/phone.md tells what is in it and who trusts whom.

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "vocabulary/time.hpp"

namespace waybourne::server {

/// One more whenever the layout or the meaning of a section changes.
inline constexpr std::uint32_t pack_version = 2;

/// What stands before the payload. Numbers are little-endian, keys and hashes hexadecimal here:
///
///     0    8  magic "WBPACK\r\n": a copy that changed line ends is noticed
///     8    4  version
///     12   4  0
///     16   8  bytes of the payload, as it stands in the file (zlib, RFC 1950)
///     24   8  bytes of the payload once it is unpacked
///     32   8  when it was made, in seconds since 1970
///     40  32  SHA-256 of the payload as it stands in the file
///     72  32  the server's public key (Ed25519, RFC 8032)
///     104 64  the server's signature over bytes 0 to 103
struct PackHeader {
    std::uint64_t packed_bytes = 0;
    std::uint64_t unpacked_bytes = 0;
    Instant made_at{};
    std::string payload_sha256;
    std::string public_key;
    std::string signature;
    bool operator==(const PackHeader&) const = default;
};

inline constexpr std::size_t pack_signed_bytes = 104;
inline constexpr std::size_t pack_header_bytes = 168;
/// Enough for a country; more is not unpacked.
inline constexpr std::uint64_t most_unpacked_bytes = std::uint64_t{1} << 30U;

/// Reads the header and holds it against the file it stands in; the signature is for the caller to
/// check, with whatever the machine has for that.
/// @throws DataError saying why not: no pack, cut short, of another version, changed
PackHeader read_pack_header(std::string_view file);

/// @throws DataError unless the pack names this key (64 hexadecimal digits)
void check_pack_key(const PackHeader& header, std::string_view trusted_key);

/// The header without its signature: what is signed.
std::string signed_part(const PackHeader& header);

/// Lower-case hexadecimal digits for bytes, and back.
std::string to_hex(std::string_view bytes);
/// @throws InputError for anything but pairs of hexadecimal digits
std::string from_hex(std::string_view digits);

/// The parts of an unpacked payload, by name.
using PackSections = std::vector<std::pair<std::string, std::string_view>>;

/// Each section begins at a multiple of 64 bytes, so that it can be used where it lies.
std::string write_sections(const PackSections& sections);

/// Views into `payload`.
/// @throws DataError for bytes that `write_sections` does not write
PackSections read_sections(std::string_view payload);

/// @throws DataError when there is none of that name
std::string_view section(const PackSections& sections, std::string_view name);

}  // namespace waybourne::server
