#pragma once
/// How a network file is laid out, for its reader and its writer.

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "routing/checksum.hpp"
#include "routing/hierarchy.hpp"
#include "routing/road_network.hpp"

namespace waybourne::routing {

inline constexpr std::array<char, 8> network_magic{'W', 'B', 'R', 'O', 'A', 'D', 'S', '\n'};
/// Written as a number: reads as another one where bytes go the other way round.
inline constexpr std::uint32_t network_byte_order = 0x0A0B0C0D;
inline constexpr std::uint32_t network_byte_order_swapped = 0x0D0C0B0A;
/// One more whenever the layout or the meaning of a block changes.
inline constexpr std::uint32_t network_version = 4;
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
    // The hierarchy; all empty in a file without one.
    node_of_rank,
    rank_of_node,
    up_first,
    up_head,
    parent,
    depth,
    down_first,
    down_arc,
    row_marks,
    row_tails,
    in_first,
    in_arc,
    in_slot,
    job_first,
};
inline constexpr std::size_t block_count = 28;
inline constexpr std::array<std::string_view, block_count> block_names{
    "node points",     "node components", "first arcs",   "arc heads",    "arc pieces",
    "arc means",       "pieces",          "shape points", "name offsets", "name texts",
    "attributes",      "ferries",         "node copies",  "piece copies", "nodes by rank",
    "ranks by node",   "first up arcs",   "up arc heads", "tree parents", "tree depths",
    "first down arcs", "down arcs",       "row marks",    "row tails",    "first arcs by rank",
    "arcs by rank",    "arc slots",       "jobs"};

/// Calls `visit(array, block)` for every array of a hierarchy.
template <typename Arrays, typename Visit>
void for_each_block(Arrays& hierarchy, const Visit& visit) {
    visit(hierarchy.node_of_rank, Block::node_of_rank);
    visit(hierarchy.rank_of_node, Block::rank_of_node);
    visit(hierarchy.up_first, Block::up_first);
    visit(hierarchy.up_head, Block::up_head);
    visit(hierarchy.parent, Block::parent);
    visit(hierarchy.depth, Block::depth);
    visit(hierarchy.down_first, Block::down_first);
    visit(hierarchy.down_arc, Block::down_arc);
    visit(hierarchy.row_marks, Block::row_marks);
    visit(hierarchy.row_tails, Block::row_tails);
    visit(hierarchy.in_first, Block::in_first);
    visit(hierarchy.in_arc, Block::in_arc);
    visit(hierarchy.in_slot, Block::in_slot);
    visit(hierarchy.job_first, Block::job_first);
}

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
    /// 0 in a file without a hierarchy.
    std::uint32_t hierarchy_height = 0;
    /// Over all that stands before it.
    std::uint32_t checksum = 0;
    /// Zeros, so that the blocks begin where they should.
    static constexpr std::size_t used = 96 + block_count * sizeof(BlockEntry);
    std::array<std::uint32_t, (block_alignment - used % block_alignment) / 4> reserved{};
};
static_assert(sizeof(BlockEntry) == 24 && sizeof(NetworkHeader) % block_alignment == 0);

constexpr std::uint64_t padded(std::uint64_t bytes) {
    return (bytes + block_alignment - 1) / block_alignment * block_alignment;
}

/// Attributes and ferries are few and hold texts and truth values, so they are written out.
std::vector<std::byte> pack_attributes(const std::vector<RoadAttributes>& attributes);
std::vector<std::byte> pack_ferries(const std::vector<Ferry>& ferries);

/// @throws InputError for bytes that are not the form `pack_…` gives
std::vector<RoadAttributes> unpack_attributes(std::span<const std::byte> bytes);
std::vector<Ferry> unpack_ferries(std::span<const std::byte> bytes);

/// Whether all numbers of a network point to something, and its promises hold; the first fault in
/// words, or null.
const char* find_fault(const RoadNetwork& network);

/// The same of a hierarchy whose arrays have the right sizes: whether it is one, and this
/// network's. O(up arcs and arcs).
const char* find_fault(const HierarchyArrays& hierarchy, const RoadNetwork& network);

}  // namespace waybourne::routing
