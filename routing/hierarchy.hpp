#pragma once
/// A road network contracted once, for every set of weights it will ever have.

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "routing/graph_view.hpp"
#include "routing/internal/marks.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::routing {

inline constexpr std::uint32_t no_rank = 0xffffffffU;
inline constexpr std::uint32_t no_arc = 0xffffffffU;

/// The arrays of a Hierarchy, all over *ranks*: a node's place in the contraction order, 0 first.
/// An *up arc* joins a rank to a higher one and stands for both directions. About 78 bytes per node
/// on road networks.
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
    /// The same arcs seen from above: those that lead to rank y are down_arc[down_first[y]] up to
    /// down_first[y + 1], ascending, and so are their tails.
    std::span<const std::uint32_t> down_first;
    std::span<const std::uint32_t> down_arc;
    /// From an arc to its rank without a search: the first up arc of each rank is marked by a bit,
    /// and of every 64th arc the tail is kept. See `row_end` and `tail`.
    std::span<const std::uint64_t> row_marks;
    std::span<const std::uint32_t> row_tails;
    /// The network's arcs without loops, by their lower end: those of rank x are in_first[x] up to
    /// in_first[x + 1]. Each is given as its number times two, plus one if it runs downwards, and
    /// in_slot says which of x's up arcs it belongs to: up_first[x] + in_slot.
    std::span<const std::uint32_t> in_first;
    std::span<const std::uint32_t> in_arc;
    std::span<const std::uint16_t> in_slot;
    /// Independent subtrees as ranges of ranks: job i is job_first[i] up to job_first[i + 1]; what
    /// follows the last belongs to the top, which depends on all of them.
    std::span<const std::uint32_t> job_first;
    /// One more than the greatest depth; 0 for no nodes.
    std::uint32_t height = 0;
    /// Of the network, loops included.
    std::uint32_t network_arcs = 0;

    /// The up arc between two ranks, `low` below `high`; `no_arc` if there is none. O(log up arcs
    /// of low).
    std::uint32_t up_arc(std::uint32_t low, std::uint32_t high) const {
        const auto begin = up_head.begin() + up_first[low];
        const auto end = up_head.begin() + up_first[low + 1];
        const auto found = std::lower_bound(begin, end, high);
        return found != end && *found == high ? static_cast<std::uint32_t>(found - up_head.begin())
                                              : no_arc;
    }
    /// Where the up arcs of the same rank end: up_first[tail(arc) + 1]. O(1) for most.
    std::uint32_t row_end(std::uint32_t arc) const {
        return next_mark(row_marks, arc + 1, static_cast<std::uint32_t>(up_head.size()));
    }
    /// The rank whose up arc it is. O(1) for most, O(ranks without up arcs).
    std::uint32_t tail(std::uint32_t arc) const {
        std::uint32_t x = row_tails[arc / 64];
        while (up_first[x + 1] <= arc) {
            ++x;
        }
        return x;
    }
    /// Calls `visit(arc of the network, whether it runs upwards)` for those that the up arc `arc`
    /// of rank `low` stands for.
    template <typename Visit>
    void for_each_network_arc(std::uint32_t low, std::uint32_t arc, const Visit& visit) const {
        for (std::uint32_t i = in_first[low]; i < in_first[low + 1]; ++i) {
            if (up_first[low] + in_slot[i] == arc) {
                visit(in_arc[i] / 2, in_arc[i] % 2 == 0);
            }
        }
    }
};

/// An up arc with the rank it starts from; `no_arc` for none.
struct UpArc {
    std::uint32_t tail = no_rank;
    std::uint32_t arc = no_arc;
};

/// The metric-independent half of a customizable contraction hierarchy (Dibbelt, Strasser, Wagner,
/// ACM JEA 21, 2016, 1.5): the chordal supergraph of the network under a nested-dissection order,
/// and its elimination tree. Immutable; share it between threads and metrics.
///
/// Ranks are laid out for locality: the elimination tree is cut into subtrees of at most a
/// sixteenth of the nodes, each contiguous and a parallel job, inside in the given order, so that
/// those who climb find each rank's parent and arcs next to its own. Above them lies the top,
/// sorted by depth.
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
    std::uint32_t network_arc_count() const { return arrays_.network_arcs; }
    /// The up arc that stands for the network's arcs between two of its *nodes*, in both
    /// directions; none for a loop or where no arc is. O(log up arcs of the lower).
    UpArc up_arc(std::uint32_t node, std::uint32_t other) const {
        const std::uint32_t x = arrays_.rank_of_node[node];
        const std::uint32_t y = arrays_.rank_of_node[other];
        return x == y ? UpArc{}
                      : UpArc{std::min(x, y), arrays_.up_arc(std::min(x, y), std::max(x, y))};
    }
    /// One more than the greatest depth; 0 for no nodes.
    std::uint32_t height() const { return arrays_.height; }
    /// What all arrays take together.
    std::size_t bytes() const;

private:
    HierarchyArrays arrays_;
    std::shared_ptr<const void> owner_;
};

}  // namespace waybourne::routing
