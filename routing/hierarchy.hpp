#pragma once
/// A road network contracted once, for every set of weights it will ever have.

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "routing/graph_view.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::routing {

/// The arrays of a Hierarchy, all over *ranks*: a node's place in the contraction order, 0 first.
/// An *up arc* joins a rank to a higher one and stands for both directions.
struct HierarchyArrays {
    std::span<const std::uint32_t> node_of_rank;
    std::span<const std::uint32_t> rank_of_node;
    /// The up arcs of rank x are up_first[x] up to up_first[x + 1], sorted by head.
    std::span<const std::uint32_t> up_first;
    std::span<const std::uint32_t> up_head;
    /// Elimination tree: the lowest higher neighbour; `no_rank` at a root.
    std::span<const std::uint32_t> parent;
    /// Distance from the root: 0 at a root.
    std::span<const std::uint32_t> depth;
    /// The same arcs seen from above: the lower neighbours of y, ascending, and their up arcs.
    std::span<const std::uint32_t> down_first;
    std::span<const std::uint32_t> down_tail;
    std::span<const std::uint32_t> down_arc;
    /// For each arc of the network: its up arc times two, plus one if it runs downwards; `no_arc`
    /// for a loop.
    std::span<const std::uint32_t> up_of_arc;
    /// The network's arcs of each up arc (the inverse of up_of_arc, times two plus direction).
    std::span<const std::uint32_t> in_first;
    std::span<const std::uint32_t> in_arc;
    /// Independent subtrees as ranges of ranks: job i is job_first[i] up to job_first[i + 1]; what
    /// follows the last belongs to the top, which depends on all of them.
    std::span<const std::uint32_t> job_first;
};

inline constexpr std::uint32_t no_rank = 0xffffffffU;
inline constexpr std::uint32_t no_arc = 0xffffffffU;

/// The metric-independent half of a customizable contraction hierarchy (Dibbelt, Strasser, Wagner,
/// ACM JEA 21, 2016, 1.5): the chordal supergraph of the network under a nested-dissection order,
/// and its elimination tree. Immutable; share it between threads and metrics.
///
/// Ranks are laid out for locality: the elimination tree is cut into subtrees of at most a
/// sixteenth of the nodes, each contiguous and inside sorted by depth and then by number of up
/// arcs, so that subtrees are parallel jobs and a sweep's inner loop keeps its trip count. Any
/// linear extension of the tree has the same arcs, so this costs nothing.
class Hierarchy {
public:
    /// @param order every node once, least important first
    /// @throws InputError if `order` is not a permutation of the nodes
    /// O(arcs of the hierarchy × log of its degrees), about half a second per million nodes.
    static Hierarchy build(GraphView graph, std::span<const std::uint32_t> order,
                           const Progress& progress = {});

    /// Over arrays that somebody else keeps alive, e.g. a mapped file.
    Hierarchy(const HierarchyArrays& arrays, std::shared_ptr<const void> owner)
        : arrays_(arrays), owner_(std::move(owner)) {}

    const HierarchyArrays& arrays() const { return arrays_; }
    std::uint32_t node_count() const {
        return static_cast<std::uint32_t>(arrays_.node_of_rank.size());
    }
    std::uint32_t arc_count() const { return static_cast<std::uint32_t>(arrays_.up_head.size()); }
    /// One more than the greatest depth; 0 for no nodes.
    std::uint32_t height() const;

private:
    HierarchyArrays arrays_;
    std::shared_ptr<const void> owner_;
};

}  // namespace waybourne::routing
