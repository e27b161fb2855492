#pragma once
/// SHA-256 without a library, for where none can be linked.

#include <string>
#include <string_view>

namespace waybourne::phone {

/// SHA-256 (FIPS 180-4) of the bytes, as 64 lower-case hexadecimal digits.
std::string plain_sha256(std::string_view bytes);

}  // namespace waybourne::phone
