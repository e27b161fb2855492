#include "routing/checksum.hpp"

#include <zlib.h>

namespace waybourne::routing {

std::uint32_t checksum_of(std::span<const std::byte> bytes, std::uint32_t before) {
    if (bytes.empty()) {
        return before;  // zlib takes an absent address for a wish to begin anew
    }
    const auto* data = reinterpret_cast<const Bytef*>(bytes.data());
    return static_cast<std::uint32_t>(crc32_z(before, data, bytes.size()));
}

}  // namespace waybourne::routing
