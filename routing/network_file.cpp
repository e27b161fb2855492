#include "routing/network_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstring>

#include "routing/internal/network_format.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::routing {

namespace {

using Bytes = std::span<const std::byte>;

/// After `check_blocks` every offset and size lies within the file, and so within what memory
/// holds.
Bytes part_of_file(Bytes bytes, std::uint64_t offset, std::uint64_t size) {
    return bytes.subspan(static_cast<std::size_t>(offset), static_cast<std::size_t>(size));
}

[[noreturn]] void refuse(const std::string& name, const std::string& why) {
    throw DataError(fmt::format("{}: {}", name, why));
}

NetworkHeader read_header(const std::string& name, Bytes bytes) {
    if (bytes.size() < network_magic.size() ||
        std::memcmp(bytes.data(), network_magic.data(), network_magic.size()) != 0) {
        refuse(name, "not a road network file of Waybourne");
    }
    if (bytes.size() < sizeof(NetworkHeader)) {
        refuse(name, "cut short in its header");
    }
    NetworkHeader header;
    std::memcpy(&header, bytes.data(), sizeof header);
    if (header.byte_order == network_byte_order_swapped) {
        refuse(name, "made on a machine of the other byte order; import the map on this one");
    }
    if (header.byte_order != network_byte_order) {
        refuse(name, "its header is damaged");
    }
    if (header.version != network_version) {
        refuse(name, fmt::format("made by another version (format {}, this program reads {}); "
                                 "import the map again",
                                 header.version, network_version));
    }
    constexpr std::size_t covered = offsetof(NetworkHeader, checksum);
    if (header.checksum != checksum_of(bytes.first(covered)) ||
        header.reserved != decltype(header.reserved){}) {
        refuse(name, "its header is damaged");
    }
    if (header.file_bytes != bytes.size()) {
        refuse(name, fmt::format("{} bytes long, should be {}: cut short or added to", bytes.size(),
                                 header.file_bytes));
    }
    return header;
}

/// Blocks lie one after the other without gaps, so that every byte belongs to one.
void check_blocks(const std::string& name, const NetworkHeader& header) {
    std::uint64_t place = sizeof(NetworkHeader);
    for (std::size_t i = 0; i < block_count; ++i) {
        const BlockEntry& entry = header.blocks[i];
        const bool is_in_file = entry.offset == place && entry.bytes <= header.file_bytes - place &&
                                padded(entry.bytes) <= header.file_bytes - place;
        if (!is_in_file || entry.element_size == 0 || entry.bytes % entry.element_size != 0) {
            refuse(name, fmt::format("the table's entry for its {} is wrong", block_names[i]));
        }
        place += padded(entry.bytes);
    }
    if (place != header.file_bytes) {
        refuse(name, "bytes are left over at its end");
    }
}

void check_block(const std::string& name, const NetworkHeader& header, Bytes bytes, Block block) {
    const auto i = static_cast<std::size_t>(block);
    const BlockEntry& entry = header.blocks[i];
    if (checksum_of(part_of_file(bytes, entry.offset, padded(entry.bytes))) != entry.checksum) {
        refuse(name, fmt::format("its {} are damaged", block_names[i]));
    }
}

template <typename Element>
std::span<const Element> array_in(const std::string& name, const NetworkHeader& header, Bytes bytes,
                                  Block block) {
    const auto i = static_cast<std::size_t>(block);
    const BlockEntry& entry = header.blocks[i];
    if (entry.element_size != sizeof(Element)) {
        refuse(name, fmt::format("its {} have another size", block_names[i]));
    }
    // The bytes were written from an array of this very type; the mapping is aligned.
    const auto* first =
        reinterpret_cast<const Element*>(part_of_file(bytes, entry.offset, entry.bytes).data());
    return {first, static_cast<std::size_t>(entry.bytes / sizeof(Element))};
}

NetworkArrays arrays_in(const std::string& name, const NetworkHeader& header, Bytes bytes) {
    NetworkArrays arrays;
    const auto set = [&](auto& array, Block block) {
        using Span = std::remove_reference_t<decltype(array)>;
        array =
            array_in<std::remove_const_t<typename Span::element_type>>(name, header, bytes, block);
    };
    set(arrays.node_points, Block::node_points);
    set(arrays.node_components, Block::node_components);
    set(arrays.first_out, Block::first_out);
    set(arrays.arc_heads, Block::arc_heads);
    set(arrays.arc_pieces, Block::arc_pieces);
    set(arrays.arc_means, Block::arc_means);
    set(arrays.pieces, Block::pieces);
    set(arrays.shape_points, Block::shape_points);
    set(arrays.name_first, Block::name_first);
    set(arrays.name_characters, Block::name_characters);
    set(arrays.node_copies, Block::node_copies);
    set(arrays.piece_copies, Block::piece_copies);
    const bool fits = arrays.node_components.size() == arrays.node_points.size() &&
                      arrays.first_out.size() == arrays.node_points.size() + 1 &&
                      arrays.arc_pieces.size() == arrays.arc_heads.size() &&
                      arrays.arc_means.size() == arrays.arc_heads.size() &&
                      !arrays.name_first.empty();
    if (!fits) {
        refuse(name, "the sizes of its blocks do not fit each other");
    }
    return arrays;
}

/// The sizes only: what they hold is checked by `find_fault`.
HierarchyArrays hierarchy_in(const std::string& name, const NetworkHeader& header, Bytes bytes,
                             std::uint32_t arcs) {
    HierarchyArrays h;
    for_each_block(h, [&](auto& array, Block block) {
        using Span = std::remove_reference_t<decltype(array)>;
        array =
            array_in<std::remove_const_t<typename Span::element_type>>(name, header, bytes, block);
    });
    h.height = header.hierarchy_height;
    h.network_arcs = arcs;
    return h;
}

bool is_absent(const HierarchyArrays& h) {
    bool is_empty = h.height == 0;
    for_each_block(h, [&](const auto& array, Block) { is_empty = is_empty && array.empty(); });
    return is_empty;
}

void check_sizes(const std::string& name, const HierarchyArrays& h, const RoadNetwork& network) {
    const std::size_t nodes = network.node_count();
    if (h.node_of_rank.size() != nodes || h.rank_of_node.size() != nodes) {
        refuse(name, fmt::format("its hierarchy is of {} nodes, its network has {}: they do not "
                                 "belong together",
                                 h.node_of_rank.size(), nodes));
    }
    const std::size_t up_arcs = h.up_head.size();
    const bool fits = h.up_first.size() == nodes + 1 && h.parent.size() == nodes &&
                      h.depth.size() == nodes && h.down_first.size() == nodes + 1 &&
                      h.down_arc.size() == up_arcs && h.row_marks.size() == up_arcs / 64 + 1 &&
                      h.row_tails.size() == (up_arcs + 63) / 64 && h.in_first.size() == nodes + 1 &&
                      h.in_arc.size() <= network.arc_count() &&
                      h.in_slot.size() == h.in_arc.size() && !h.job_first.empty() &&
                      h.height <= nodes && h.up_first.back() == up_arcs &&
                      h.down_first.back() == up_arcs && h.in_first.back() == h.in_arc.size();
    if (!fits) {
        refuse(name, "the sizes of its hierarchy do not fit each other");
    }
}

std::string hash_of(const NetworkHeader& header) {
    return sha256({reinterpret_cast<const char*>(&header), sizeof header});
}

/// One of the two small blocks that are read rather than mapped.
template <typename Unpack>
auto unpack_block(const std::string& name, const NetworkHeader& header, Bytes bytes, Block block,
                  Unpack unpack) {
    check_block(name, header, bytes, block);
    const auto i = static_cast<std::size_t>(block);
    try {
        return unpack(part_of_file(bytes, header.blocks[i].offset, header.blocks[i].bytes));
    } catch (const InputError& error) {
        throw DataError(
            fmt::format("{}: its {} are wrong: {}", name, block_names[i], error.what()));
    }
}

}  // namespace

NetworkFile::NetworkFile(std::string name, Bytes bytes, std::shared_ptr<const void> keeper)
    : name_(std::move(name)), bytes_(bytes) {
    const NetworkHeader header = read_header(name_, bytes_);
    check_blocks(name_, header);
    source_sha256_.assign(header.source_sha256.begin(), header.source_sha256.end());
    content_sha256_ = hash_of(header);
    const NetworkArrays arrays = arrays_in(name_, header, bytes_);
    std::vector<RoadAttributes> attributes =
        unpack_block(name_, header, bytes_, Block::attributes, &unpack_attributes);
    std::vector<Ferry> ferries =
        unpack_block(name_, header, bytes_, Block::ferries, &unpack_ferries);
    network_ = std::make_shared<const RoadNetwork>(arrays, std::move(attributes),
                                                   std::move(ferries), keeper);
    const HierarchyArrays hierarchy = hierarchy_in(name_, header, bytes_, network_->arc_count());
    if (!is_absent(hierarchy)) {
        check_sizes(name_, hierarchy, *network_);
        hierarchy_ = std::make_shared<const Hierarchy>(hierarchy, std::move(keeper));
    }
}

void NetworkFile::verify() const {
    const NetworkHeader header = read_header(name_, bytes_);
    for (std::size_t i = 0; i < block_count; ++i) {
        check_block(name_, header, bytes_, static_cast<Block>(i));
    }
    const char* fault = find_fault(*network_);
    if (fault == nullptr && hierarchy_ != nullptr) {
        fault = find_fault(hierarchy_->arrays(), *network_);
    }
    if (fault != nullptr) {
        refuse(name_, fault);
    }
}

}  // namespace waybourne::routing
