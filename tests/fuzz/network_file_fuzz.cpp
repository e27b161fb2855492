/// Damaged and forged network files. Checksums are set right first, or nothing else would ever be
/// reached.

#include <array>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <vector>

#include "routing/customise.hpp"
#include "routing/internal/network_format.hpp"
#include "routing/network_file.hpp"
#include "routing/up_search.hpp"
#include "vocabulary/error.hpp"

namespace {

using namespace waybourne::routing;

struct alignas(block_alignment) Line {
    std::array<std::byte, block_alignment> bytes{};
};

void set_checksums(std::span<std::byte> bytes) {
    if (bytes.size() < sizeof(NetworkHeader)) {
        return;
    }
    NetworkHeader header;
    std::memcpy(&header, bytes.data(), sizeof header);
    header.file_bytes = bytes.size();
    for (BlockEntry& block : header.blocks) {
        if (block.offset <= bytes.size() && block.bytes <= bytes.size() &&
            padded(block.bytes) <= bytes.size() - block.offset) {
            block.checksum = checksum_of(bytes.subspan(block.offset, padded(block.bytes)));
        }
    }
    std::memcpy(bytes.data(), &header, sizeof header);
    header.checksum = checksum_of(bytes.first(offsetof(NetworkHeader, checksum)));
    std::memcpy(bytes.data(), &header, sizeof header);
}

/// Reads everything there is, as a router would.
void walk(const RoadNetwork& network) {
    for (const Piece& piece : network.pieces()) {
        network.name_of(piece);
        network.attributes_of(piece);
        for (const FixedPoint point : network.shape_of(piece)) {
            to_geo_point(point);
        }
        for (const ArcId arc : {piece.forward, piece.backward}) {
            if (arc.exists()) {
                network.point(network.head(arc));
                network.point(network.tail(arc));
            }
        }
    }
}

/// Goes along everything there is, as a customisation and its searches would.
void climb(const Hierarchy& hierarchy) {
    const std::vector<Time> values(hierarchy.network_arc_count(), Time{1});
    auto weights = customised<Time>(hierarchy, values, 2);
    std::vector<UpArc> all;
    for (std::uint32_t arc = 0; arc < hierarchy.arc_count(); ++arc) {
        all.push_back({hierarchy.arrays().tail(arc), arc});
    }
    customise_again<Time>(hierarchy, values, all, weights);
    UpSearch<Time> search{hierarchy};
    for (std::uint32_t rank = 0; rank < hierarchy.node_count(); ++rank) {
        search.run(hierarchy, weights, rank, Time::none(), UpSearch<Time>::Direction::from_here);
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    std::vector<Line> lines(size / sizeof(Line) + 1);
    std::memcpy(lines.data(), data, size);
    const std::span<std::byte> bytes{lines.front().bytes.data(), size};
    if (size % 2 == 0) {
        set_checksums(bytes);
    }
    try {
        const NetworkFile file{"fuzz", bytes, nullptr};
        file.verify();
        walk(*file.network());
        if (file.hierarchy()) {
            climb(*file.hierarchy());
        }
    } catch (const waybourne::DataError&) {
        return 0;
    }
    return 0;
}
