#pragma once
/// Searches in a customised hierarchy: up from each end, along the elimination tree.

#include <algorithm>
#include <span>
#include <utility>
#include <vector>

#include "routing/arc_value.hpp"
#include "routing/hierarchy.hpp"

namespace waybourne::routing {

/// A rank to search from, with what lies before it.
template <typename Value>
struct UpStart {
    std::uint32_t rank = no_rank;
    Value value = Value::none();
};

/// From one rank to all its ancestors (or, backward, from all of them to it): the least value over
/// ways that only climb. Needs no heap and no array of the network's size: every depth has one
/// ancestor, so values are kept by depth. One per thread; a search allocates nothing. O(up arcs of
/// the chain).
template <typename Value>
class UpSearch {
public:
    enum class Direction { from_here, to_here };

    explicit UpSearch(const Hierarchy& hierarchy);

    /// @param start added to every value
    void run(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
             std::uint32_t rank, Value start, Direction direction) {
        const UpStart<Value> only{rank, start};
        run(hierarchy, weights, std::span{&only, 1}, direction);
    }
    /// From several at once: the least value over all of them.
    /// @param starts the lowest first, all others on its chain; see `for_each_chain`
    void run(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
             std::span<const UpStart<Value>> starts, Direction direction);

    /// From this rank, looking at each ancestor as soon as its value is known, lowest first:
    /// `visit(rank, value)` says whether to climb on from it. Where it says no, values of higher
    /// ancestors may be too great; nobody can unpack a way afterwards.
    template <typename Visit>
    void explore(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
                 std::uint32_t rank, Value start, const Visit& visit) {
        const UpStart<Value> only{rank, start};
        explore(hierarchy, weights, std::span{&only, 1}, visit);
    }
    /// From several at once.
    /// @param starts as `run` wants them
    template <typename Visit>
    void explore(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
                 std::span<const UpStart<Value>> starts, const Visit& visit) {
        const HierarchyArrays& h = hierarchy.arrays();
        std::uint32_t highest = begin(h, starts);  // that a value has come to
        std::uint32_t depth = depth_;
        for (std::uint32_t x = starts.front().rank;; x = h.parent[x], --depth) {
            const Value here = by_depth_[depth];
            if (here.is_open() && visit(x, here)) {
                const std::uint32_t first = h.up_first[x];
                const std::uint32_t end = h.up_first[x + 1];
                pass_up(h, weights, first, end, here);
                if (first < end) {
                    highest = std::min(highest, h.depth[h.up_head[end - 1]]);
                }
            }
            if (depth == highest) {
                return;
            }
        }
    }

    /// The rank and its ancestors, ascending. After `run` only.
    std::span<const std::uint32_t> chain() const { return chain_; }
    /// The value of the ancestor (or the rank itself) that lies at this depth.
    Value at_depth(std::uint32_t depth) const { return by_depth_[depth]; }
    /// The ancestor from which that value came, for unpacking; the rank itself has none.
    std::uint32_t previous_at_depth(std::uint32_t depth) const { return previous_[depth]; }
    /// The depth of the rank itself: all smaller depths hold ancestors.
    std::uint32_t depth() const { return depth_; }

private:
    template <typename Other>
    friend class PairSearch;

    /// Forgets the last search; gives the depth of the highest of the starts.
    std::uint32_t begin(const HierarchyArrays& h, std::span<const UpStart<Value>> starts) {
        begin(h, starts.front().rank, starts.front().value);
        std::uint32_t highest = depth_;
        for (const UpStart<Value>& start : starts) {
            const std::uint32_t depth = h.depth[start.rank];
            by_depth_[depth] = lesser(by_depth_[depth], start.value);
            previous_[depth] = no_rank;
            highest = std::min(highest, depth);
        }
        return highest;
    }
    /// Forgets the last search.
    void begin(const HierarchyArrays& h, std::uint32_t rank, Value start) {
        depth_ = h.depth[rank];
        std::fill_n(by_depth_.begin(), depth_ + 1, Value::closed());
        by_depth_[depth_] = start;
        previous_[depth_] = no_rank;
    }
    /// To all higher neighbours, by the up arcs `first` up to `end`. Where many are, most follow
    /// each other in the chain.
    void pass_up(const HierarchyArrays& h, std::span<const BothWays<Value>> weights,
                 std::uint32_t first, std::uint32_t end, const Value& here) {
        std::uint32_t a = first;
        while (a + run_step <= end) {
            const std::uint32_t count = run_at(h, a, end);
            if (count == 0) {
                pass_up_singly(h, weights, a, a + run_step, here);
                a += run_step;
            } else {
                Value* const above = by_depth_.data() + h.depth[h.up_head[a]];
                pass_up_run_(weights.data() + a, count, here, above);
                a += count;
            }
        }
        pass_up_singly(h, weights, a, end, here);
    }
    /// How many up arcs from `a` on, in steps, lead to ancestors that follow each other: heads
    /// ascend, so that shows at the two ends of a run and what lies between needs no look.
    static std::uint32_t run_at(const HierarchyArrays& h, std::uint32_t a, std::uint32_t end) {
        const std::uint32_t depth = h.depth[h.up_head[a]];
        const auto is_run_of = [&](std::uint32_t count) {
            return a + count <= end && depth - h.depth[h.up_head[a + count - 1]] == count - 1;
        };
        if (!is_run_of(run_step)) {
            return 0;
        }
        std::uint32_t count = run_step;
        while (is_run_of(2 * count)) {
            count *= 2;
        }
        for (std::uint32_t more = count / 2; more >= run_step; more /= 2) {
            count += is_run_of(count + more) ? more : 0;
        }
        return count;
    }
    void pass_up_singly(const HierarchyArrays& h, std::span<const BothWays<Value>> weights,
                        std::uint32_t first, std::uint32_t end, const Value& here) {
        for (std::uint32_t a = first; a < end; ++a) {
            Value& above = by_depth_[h.depth[h.up_head[a]]];
            above = lesser(above, sum(here, weights[a].up));
        }
    }
    /// To all higher neighbours of x, which lies at this depth, with a note of where each value
    /// came from. @tparam way `up` or `down` of both ways
    template <Value BothWays<Value>::*way>
    void relax_all(const HierarchyArrays& h, std::span<const BothWays<Value>> weights,
                   std::uint32_t x, std::uint32_t depth) {
        const Value here = by_depth_[depth];
        if (!here.is_open()) {
            return;
        }
        const std::uint32_t end = h.up_first[x + 1];
        for (std::uint32_t a = h.up_first[x]; a < end; ++a) {
            relax(h.depth[h.up_head[a]], sum(here, weights[a].*way), x);
        }
    }
    /// To one higher neighbour, from x. Without a branch: which way is better is anybody's guess.
    void relax(std::uint32_t depth, const Value& value, std::uint32_t x) {
        const bool is_better = value < by_depth_[depth];
        by_depth_[depth] = is_better ? value : by_depth_[depth];
        previous_[depth] = is_better ? x : previous_[depth];
    }

    static constexpr std::uint32_t run_step = 8;
    /// Lowers the values at `above`, `above - 1`, … to what comes from `here` over `count` arcs.
    void (*pass_up_run_)(const BothWays<Value>* arcs, std::uint32_t count, Value here,
                         Value* above);
    std::vector<Value> by_depth_;
    std::vector<std::uint32_t> previous_;
    std::vector<std::uint32_t> chain_;
    std::uint32_t depth_ = 0;
};

/// Puts starts together that one search can begin from: calls `visit(starts of one chain)`, lowest
/// first, until each was in one. Changes their order. O(starts × height).
template <typename Value, typename Visit>
void for_each_chain(const Hierarchy& hierarchy, std::span<UpStart<Value>> starts,
                    const Visit& visit) {
    const HierarchyArrays& h = hierarchy.arrays();
    const auto is_lower = [](const auto& a, const auto& b) { return a.rank < b.rank; };
    while (!starts.empty()) {
        std::sort(starts.begin(), starts.end(), is_lower);
        std::uint32_t x = starts.front().rank;
        std::size_t count = 0;
        for (UpStart<Value>& start : starts) {
            while (x < start.rank) {  // ancestors have higher ranks, and none has the highest
                x = h.parent[x];
            }
            if (x == start.rank) {
                std::swap(start, starts[count++]);
            }
        }
        visit(std::span<const UpStart<Value>>{starts.first(count)});
        starts = starts.subspan(count);
    }
}

/// Where the best way from one search's rank to another's turns from climbing to falling.
template <typename Value>
struct Meeting {
    Value value = Value::closed();
    std::uint32_t rank = no_rank;
};

/// @param from a search `from_here`, @param to one `to_here`, both in the same hierarchy
/// Of equal meetings the lowest rank. O(height).
template <typename Value>
Meeting<Value> meet(const UpSearch<Value>& from, const UpSearch<Value>& to);

/// Searches from `from_rank` and to `to_rank` at once and returns where they meet. Both climb
/// freely below their lowest common ancestor; above it neither climbs on where it has become longer
/// than the best way found (Buchhold, Sanders, Wagner, SEA 2018, pruned elimination-tree search).
/// Of equal meetings the lowest rank. O(up arcs of both chains).
template <typename Value>
Meeting<Value> meet_between(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
                            std::uint32_t from_rank, std::uint32_t to_rank, UpSearch<Value>& from,
                            UpSearch<Value>& to);

}  // namespace waybourne::routing
