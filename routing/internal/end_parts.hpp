#pragma once
/// The stretches between a place on a road and the nodes, whatever they take and whether they are
/// open. See ends.hpp for what copies of junctions mean here.

#include <optional>

#include "routing/arc_part.hpp"
#include "routing/snap.hpp"

namespace waybourne::routing {

/// From one place on a piece to another, both measured from its beginning. The arc may be none.
inline ArcPart part_between(const Piece& piece, std::uint32_t from_cm, std::uint32_t to_cm) {
    return to_cm > from_cm
               ? ArcPart{piece.forward, from_cm, to_cm}
               : ArcPart{piece.backward, piece.length_cm - from_cm, piece.length_cm - to_cm};
}

/// Calls `visit(node, part)` for every stretch onto a node; no part where the place lies at it. The
/// arc of a part may be none.
template <typename Visit>
void each_way_out(const RoadNetwork& network, const Access& access, const Visit& visit) {
    const Piece& stretch = network.piece(access.piece);
    const std::uint32_t back_cm = stretch.length_cm - access.along_cm;
    if (access.along_cm == 0) {
        visit(network.original(stretch.from), std::optional<ArcPart>{});
    }
    if (back_cm == 0) {
        visit(network.original(stretch.to), std::optional<ArcPart>{});
    }
    each_version(network, access.piece, [&](PieceId version) {
        const Piece& piece = network.piece(version);
        if (access.along_cm > 0 && network.original(piece.to) == piece.to) {
            visit(piece.from, std::optional(ArcPart{piece.backward, back_cm, piece.length_cm}));
        }
        if (back_cm > 0 && network.original(piece.from) == piece.from) {
            visit(piece.to,
                  std::optional(ArcPart{piece.forward, access.along_cm, piece.length_cm}));
        }
    });
}

/// The same from the nodes to the place.
template <typename Visit>
void each_way_in(const RoadNetwork& network, const Access& access, const Visit& visit) {
    const auto visit_node = [&](NodeId node) {
        const NodeId original = network.original(node);
        visit(original, std::optional<ArcPart>{});
        for (const NodeCopy& pair : network.copies(original)) {
            visit(pair.copy, std::optional<ArcPart>{});
        }
    };
    const Piece& stretch = network.piece(access.piece);
    const std::uint32_t back_cm = stretch.length_cm - access.along_cm;
    if (access.along_cm == 0) {
        visit_node(stretch.from);
    }
    if (back_cm == 0) {
        visit_node(stretch.to);
    }
    each_version(network, access.piece, [&](PieceId version) {
        const Piece& piece = network.piece(version);
        if (access.along_cm > 0) {
            visit(piece.from, std::optional(ArcPart{piece.forward, 0, access.along_cm}));
        }
        if (back_cm > 0) {
            visit(piece.to, std::optional(ArcPart{piece.backward, 0, back_cm}));
        }
    });
}

}  // namespace waybourne::routing
