#pragma once
/// The fingerprint of a file or text.

#include <string>
#include <string_view>

namespace waybourne {

/// SHA-256 (FIPS 180-4) of the bytes, as 64 lower-case hexadecimal digits. By libsodium.
std::string sha256(std::string_view bytes);

}  // namespace waybourne
