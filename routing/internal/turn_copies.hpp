#pragma once
/// Turns forbidden ways into copies of nodes and pieces, so that searches need not know of them.

#include <cstdint>
#include <span>
#include <vector>

#include "routing/road_network.hpp"
#include "routing/turn_restriction.hpp"

namespace waybourne::routing {

/// A piece as far as forbidden ways matter.
struct PieceEnds {
    std::uint32_t from = 0;
    std::uint32_t to = 0;
    MeansSet forward;
    MeansSet backward;
    bool operator==(const PieceEnds&) const = default;
};

/// What becomes of one piece: the first of `versions` takes its place, the others are copies.
struct PieceVersions {
    std::uint32_t piece = 0;
    std::vector<PieceEnds> versions;
};

/// The same as forbidden ways: at every part of a required one, all others that leave there.
/// O(pieces
/// + results).
std::vector<ForbiddenWay> forbidden_by(std::uint32_t node_count, std::span<const PieceEnds> pieces,
                                       std::span<const RequiredWay> required);

struct TurnCopies {
    /// The original of each new node; the new nodes have the numbers after all given ones.
    std::vector<std::uint32_t> node_originals;
    /// Of the pieces that change, ascending.
    std::vector<PieceVersions> pieces;
};

/// A deterministic automaton over the forbidden ways (Aho and Corasick, Communications of the ACM
/// 18 (1975) 333-340): its states are the proper beginnings of forbidden ways, and the state of a
/// way is its longest end that is such a beginning. Every state but the empty one is a copy of the
/// node where it ends; a part leaves a copy for those only whom no forbidden way ends on.
/// Villeneuve and Desaulniers, European J. Operational Research 165 (2005) 97-107, forbid paths by
/// the same copies.
///
/// Nothing is copied but the nodes on a forbidden way after its first part and before its last:
/// each once for every distinct way to come there, with the arcs that leave it. O(pieces + states ×
/// arcs of a node × (longest forbidden way)²), with logarithms.
/// @param node_count `from` and `to` of all pieces are less than it
/// @param forbidden parts follow each other; ways that nobody could take anyway are passed over
TurnCopies turn_copies(std::uint32_t node_count, std::span<const PieceEnds> pieces,
                       std::span<const ForbiddenWay> forbidden);

}  // namespace waybourne::routing
