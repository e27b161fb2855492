#pragma once
/// The checksum of the blocks of a network file.

#include <cstddef>
#include <cstdint>
#include <span>

namespace waybourne::routing {

/// CRC-32 (ISO 3309): by zlib on a server, by Boost on a phone, where zlib cannot be linked.
/// @param before the checksum of what came before these bytes
std::uint32_t checksum_of(std::span<const std::byte> bytes, std::uint32_t before = 0);

}  // namespace waybourne::routing
