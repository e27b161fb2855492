#pragma once
/// How a network file is laid out, for its reader and its writer.

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "routing/road_network.hpp"

namespace waybourne::routing {

inline constexpr std::array<char, 8> network_magic{'W', 'B', 'R', 'O', 'A', 'D', 'S', '\n'};
/// Written as a number: reads as another one where bytes go the other way round.
inline constexpr std::uint32_t network_byte_order = 0x0A0B0C0D;
inline constexpr std::uint32_t network_byte_order_swapped = 0x0D0C0B0A;
/// One more whenever the layout or the meaning of a block changes.
inline constexpr std::uint32_t network_version = 2;
inline constexpr std::size_t block_alignment = 64;

enum class Block : std::uint32_t {
    node_points,
    node_components,
    first_out,
    arc_heads,
    arc_pieces,
    arc_means,
    pieces,
    shape_points,
    name_first,
    name_characters,
    attributes,
    ferries,
    node_copies,
    piece_copies,
};
inline constexpr std::size_t block_count = 14;
inline constexpr std::array<std::string_view, block_count> block_names{
    "node points", "node components", "first arcs",   "arc heads",    "arc pieces",
    "arc means",   "pieces",          "shape points", "name offsets", "name texts",
    "attributes",  "ferries",         "node copies",  "piece copies"};

struct BlockEntry {
    std::uint64_t offset = 0;
    std::uint64_t bytes = 0;
    /// Over the block and the zeros after it.
    std::uint32_t checksum = 0;
    std::uint32_t element_size = 0;
};

struct NetworkHeader {
    std::array<char, 8> magic = network_magic;
    std::uint32_t byte_order = network_byte_order;
    std::uint32_t version = network_version;
    std::uint64_t file_bytes = 0;
    std::array<char, 64> source_sha256{};
    std::array<BlockEntry, block_count> blocks{};
    /// Over all that stands before it.
    std::uint32_t checksum = 0;
    /// Zeros, so that the blocks begin where they should.
    std::array<std::uint32_t, 5> reserved{};
};
static_assert(sizeof(BlockEntry) == 24 && sizeof(NetworkHeader) % block_alignment == 0);

constexpr std::uint64_t padded(std::uint64_t bytes) {
    return (bytes + block_alignment - 1) / block_alignment * block_alignment;
}

/// Of bytes that come after others whose checksum is `before`.
std::uint32_t checksum_of(std::span<const std::byte> bytes, std::uint32_t before = 0);

/// Attributes and ferries are few and hold texts and truth values, so they are written out.
std::vector<std::byte> pack_attributes(const std::vector<RoadAttributes>& attributes);
std::vector<std::byte> pack_ferries(const std::vector<Ferry>& ferries);

/// @throws InputError for bytes that are not the form `pack_…` gives
std::vector<RoadAttributes> unpack_attributes(std::span<const std::byte> bytes);
std::vector<Ferry> unpack_ferries(std::span<const std::byte> bytes);

/// Whether all numbers of a network point to something, and its promises hold; the first fault in
/// words, or null.
const char* find_fault(const RoadNetwork& network);

}  // namespace waybourne::routing
