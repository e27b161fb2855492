#pragma once
/// One pass over the whole network: from one place to everywhere, or from everywhere to the
/// nearest.

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "routing/arc_value.hpp"
#include "routing/hierarchy.hpp"

namespace waybourne::routing {

/// In which order a sweep goes through the ranks: inside each job of the hierarchy by blocks of
/// whole subtrees that fit the second-level cache, so that what a rank is compared with is still
/// there; in a block by height above its leaves, then by number of up arcs, so that the inner loop
/// keeps its trip count over long runs. Any order with ancestors after their descendants gives the
/// same answers. 12 bytes per node; one serves all metrics of a hierarchy.
class SweepOrder {
public:
    explicit SweepOrder(const Hierarchy& hierarchy);

    /// The rank at each position; positions of one job are those of its ranks.
    std::span<const std::uint32_t> rank_at() const { return rank_at_; }
    std::span<const std::uint32_t> position_of_rank() const { return position_of_rank_; }
    /// The up arcs of the rank at position i are first()[i] up to first()[i + 1].
    std::span<const std::uint32_t> first() const { return first_; }

private:
    std::vector<std::uint32_t> rank_at_;
    std::vector<std::uint32_t> position_of_rank_;
    std::vector<std::uint32_t> first_;
};

/// The arcs of one customised metric as a sweep reads them, in the order it reads them. 16 bytes
/// per up arc. Immutable; share it between threads.
class SweepArcs {
public:
    struct Arc {
        std::uint32_t head;
        std::uint32_t ds;
    };
    /// @param order of the same hierarchy; its own if none
    SweepArcs(const Hierarchy& hierarchy, std::span<const BothWays<Time>> weights,
              std::shared_ptr<const SweepOrder> order = nullptr);

    const SweepOrder& order() const { return *order_; }
    std::span<const Arc> up() const { return up_; }
    std::span<const Arc> down() const { return down_; }

private:
    std::shared_ptr<const SweepOrder> order_;
    std::vector<Arc> up_;
    std::vector<Arc> down_;
};

/// One place with what lies between it and a rank.
struct SweepStart {
    std::uint32_t rank = 0;
    std::uint32_t ds = 0;
    std::uint32_t place = 0;
};

/// Time from the nearest of `starts` to every rank, in ds; `closed_ds` where there is no way. PHAST
/// (Delling, Goldberg, Nowatzyk, Werneck, J. Parallel Distrib. Comput. 73, 2013, 940-952) on the
/// hierarchy. O(up arcs).
/// @param ds one per rank; overwritten
void sweep_from(const Hierarchy& hierarchy, const SweepArcs& arcs,
                std::span<const SweepStart> starts, std::span<std::uint32_t> ds,
                unsigned threads = 1);

/// The nearest place of every rank: time in ds in the upper half, place in the lower, so that the
/// smaller number is the nearer place and, of equally near ones, the lower. `nowhere` where no
/// place can be reached.
inline constexpr std::uint64_t nowhere = std::uint64_t{closed_ds} << 32;
constexpr std::uint32_t nearest_ds(std::uint64_t key) {
    return static_cast<std::uint32_t>(key >> 32);
}
constexpr std::uint32_t nearest_place(std::uint64_t key) {
    return static_cast<std::uint32_t>(key);
}

/// Time from every rank to its nearest place. O(up arcs), whatever the number of places.
/// @param keys one per rank; overwritten
void sweep_to_nearest(const Hierarchy& hierarchy, const SweepArcs& arcs,
                      std::span<const SweepStart> places, std::span<std::uint64_t> keys,
                      unsigned threads = 1);

/// As `sweep_from` for several starts at once, each on its own: lane i of rank x is
/// ds[x * lanes + i]. One pass over the arcs serves all lanes.
inline constexpr std::size_t sweep_lanes = 16;
void sweep_lanes_from(const Hierarchy& hierarchy, const SweepArcs& arcs,
                      std::span<const SweepStart> starts, std::span<std::uint32_t> ds,
                      unsigned threads = 1);

/// One of several sweeps that go together.
struct TogetherSweep {
    const SweepArcs& arcs;
    /// From every rank to the nearest of `starts`, instead of from them.
    bool is_towards = false;
    std::span<const SweepStart> starts;
};

/// Three sweeps, each with starts and weights of its own, in one pass: what they compare with lies
/// in one line of the cache. Sweep i of rank x is ds[x * together_stride + i]; what fills up the
/// line says nothing. As `sweep_from` for each of them alone.
/// @param sweeps their arcs in one order, or in orders made from one hierarchy
inline constexpr std::size_t together_count = 3;
inline constexpr std::size_t together_stride = 4;
void sweep_together(const Hierarchy& hierarchy,
                    std::span<const TogetherSweep, together_count> sweeps,
                    std::span<std::uint32_t> ds);

}  // namespace waybourne::routing
