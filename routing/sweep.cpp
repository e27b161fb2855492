#include "routing/sweep.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <numeric>
#include <type_traits>

#include "routing/internal/sweep_parts.hpp"
#include "routing/internal/wide.hpp"

namespace waybourne::routing {

namespace {

/// Height of each rank above the lowest below it: ancestors are higher.
std::vector<std::uint32_t> levels(const HierarchyArrays& h) {
    std::vector<std::uint32_t> level(h.parent.size(), 0);
    for (std::uint32_t x = 0; x < level.size(); ++x) {
        if (h.parent[x] != no_rank) {
            level[h.parent[x]] = std::max(level[h.parent[x]], level[x] + 1);
        }
    }
    return level;
}

/// The block of each rank: whole subtrees, neighbours together as long as they are small; `no_rank`
/// for what lies above. The 16 times of all ranks in a block fit the second-level cache.
std::vector<std::uint32_t> blocks(const HierarchyArrays& h) {
    constexpr std::uint32_t limit = 4096;
    const auto nodes = static_cast<std::uint32_t>(h.parent.size());
    std::vector<std::uint32_t> size(nodes, 1);
    for (std::uint32_t x = 0; x < nodes; ++x) {
        if (h.parent[x] != no_rank) {
            size[h.parent[x]] += size[x];
        }
    }
    std::vector<std::uint32_t> block(nodes, no_rank);
    std::uint32_t last = no_rank;
    std::uint32_t ranks_in_last = 0;
    for (std::uint32_t x = nodes; x-- > 0;) {
        const std::uint32_t p = h.parent[x];
        if (p != no_rank && block[p] != no_rank) {
            block[x] = block[p];
        } else if (size[x] <= limit) {
            if (last == no_rank || ranks_in_last + size[x] > limit) {
                last = x;
                ranks_in_last = 0;
            }
            ranks_in_last += size[x];
            block[x] = last;
        }
    }
    return block;
}

}  // namespace

SweepOrder::SweepOrder(const Hierarchy& hierarchy)
    : rank_at_(hierarchy.node_count()), position_of_rank_(hierarchy.node_count()), first_{0} {
    const HierarchyArrays& h = hierarchy.arrays();
    std::iota(rank_at_.begin(), rank_at_.end(), 0U);
    const auto degree = [&](std::uint32_t x) { return h.up_first[x + 1] - h.up_first[x]; };
    const std::vector<std::uint32_t> block = blocks(h);
    const std::vector<std::uint32_t> level = levels(h);
    for (std::size_t job = 0; job + 1 < h.job_first.size(); ++job) {
        std::sort(rank_at_.begin() + h.job_first[job], rank_at_.begin() + h.job_first[job + 1],
                  [&](std::uint32_t a, std::uint32_t b) {
                      if (block[a] != block[b]) {
                          return block[a] < block[b];
                      }
                      if (level[a] != level[b]) {
                          return level[a] < level[b];
                      }
                      return degree(a) != degree(b) ? degree(a) < degree(b) : a < b;
                  });
    }
    first_.reserve(rank_at_.size() + 1);
    for (std::uint32_t position = 0; position < rank_at_.size(); ++position) {
        position_of_rank_[rank_at_[position]] = position;
        first_.push_back(first_.back() + degree(rank_at_[position]));
    }
}

SweepArcs::SweepArcs(const Hierarchy& hierarchy, std::span<const BothWays<Time>> weights,
                     std::shared_ptr<const SweepOrder> order)
    : order_(order ? std::move(order) : std::make_shared<const SweepOrder>(hierarchy)) {
    const HierarchyArrays& h = hierarchy.arrays();
    up_.reserve(weights.size());
    down_.reserve(weights.size());
    for (const std::uint32_t x : order_->rank_at()) {
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
            up_.push_back({h.up_head[a], weights[a].up.ds});
            down_.push_back({h.up_head[a], weights[a].down.ds});
        }
    }
}

namespace {

constexpr std::uint64_t as_key(std::uint32_t ds) {
    return std::uint64_t{ds} << 32;
}

Climbed climbed_from(const HierarchyArrays& h, std::span<const SweepStart> starts) {
    Climbed climbed{h};
    for (const SweepStart& start : starts) {
        climbed.add(start.rank);
    }
    return climbed;
}

/// Visits the arcs of all that was climbed to, lowest first: `relax(rank, arc)`.
template <typename Relax>
void climb_arcs(const SweepOrder& order, std::span<const SweepArcs::Arc> arcs,
                const Climbed& climbed, const Relax& relax) {
    climbed.for_each([&](std::uint32_t x) {
        const std::uint32_t position = order.position_of_rank()[x];
        for (std::uint32_t a = order.first()[position]; a < order.first()[position + 1]; ++a) {
            relax(x, arcs[a]);
        }
    });
}

/// Positions with this many arcs, down from `i` to `begin` or to where there are more or fewer;
/// returns where that is.
template <std::uint32_t degree, typename Row>
std::uint32_t run_down(const std::uint32_t* first, std::uint32_t begin, std::uint32_t i,
                       const Row& row) {
    do {
        row(--i, std::integral_constant<std::uint32_t, degree>{});
    } while (i > begin && first[i] - first[i - 1] == degree);
    return i;
}

/// Calls `row(position, number of arcs)` for each, the highest first. Most ranks have few arcs and
/// stand beside others with as many, for which the loop over them is unrolled.
template <typename Row>
void rows_down(const std::uint32_t* first, std::uint32_t begin, std::uint32_t end, const Row& row) {
    for (std::uint32_t i = end; i > begin;) {
        const std::uint32_t degree = first[i] - first[i - 1];
        switch (degree) {
            case 1:
                i = run_down<1>(first, begin, i, row);
                break;
            case 2:
                i = run_down<2>(first, begin, i, row);
                break;
            case 3:
                i = run_down<3>(first, begin, i, row);
                break;
            case 4:
                i = run_down<4>(first, begin, i, row);
                break;
            case 5:
                i = run_down<5>(first, begin, i, row);
                break;
            default:
                row(--i, degree);
        }
    }
}

}  // namespace

void sweep_from(const Hierarchy& hierarchy, const SweepArcs& arcs,
                std::span<const SweepStart> starts, std::span<std::uint32_t> ds, unsigned threads) {
    assert(ds.size() == hierarchy.node_count());
    const HierarchyArrays& h = hierarchy.arrays();
    const Climbed climbed = climbed_from(h, starts);
    climbed.for_each([&](std::uint32_t x) { ds[x] = closed_ds; });
    for (const SweepStart& start : starts) {
        ds[start.rank] = std::min(ds[start.rank], start.ds);
    }
    climb_arcs(arcs.order(), arcs.up(), climbed, [&](std::uint32_t x, const SweepArcs::Arc& arc) {
        ds[arc.head] = std::min(ds[arc.head], ds[x] + arc.ds);
    });
    const SweepArcs::Arc* const down = arcs.down().data();
    const std::uint32_t* const first = arcs.order().first().data();
    const std::uint32_t* const rank_at = arcs.order().rank_at().data();
    std::uint32_t* const time = ds.data();
    const auto row = [&climbed, down, first, rank_at, time](std::uint32_t i, auto degree) {
        const std::uint32_t x = rank_at[i];
        const SweepArcs::Arc* const arc = down + first[i];
        std::uint32_t best = climbed.contains(x) ? time[x] : closed_ds;
        for (std::uint32_t a = 0; a < degree; ++a) {
            best = std::min(best, time[arc[a].head] + arc[a].ds);
        }
        time[x] = best;
    };
    top_down(h, threads, [&, first](std::uint32_t begin, std::uint32_t end) {
        rows_down(first, begin, end, row);
    });
}

void sweep_to_nearest(const Hierarchy& hierarchy, const SweepArcs& arcs,
                      std::span<const SweepStart> places, std::span<std::uint64_t> keys,
                      unsigned threads) {
    assert(keys.size() == hierarchy.node_count());
    const HierarchyArrays& h = hierarchy.arrays();
    const Climbed climbed = climbed_from(h, places);
    climbed.for_each([&](std::uint32_t x) { keys[x] = nowhere; });
    for (const SweepStart& place : places) {
        keys[place.rank] = std::min(keys[place.rank], as_key(place.ds) | place.place);
    }
    // the way down to a place, climbed from the place
    climb_arcs(arcs.order(), arcs.down(), climbed, [&](std::uint32_t x, const SweepArcs::Arc& arc) {
        keys[arc.head] = std::min(keys[arc.head], keys[x] + as_key(arc.ds));
    });
    const SweepArcs::Arc* const up = arcs.up().data();
    const std::uint32_t* const first = arcs.order().first().data();
    const std::uint32_t* const rank_at = arcs.order().rank_at().data();
    std::uint64_t* const key = keys.data();
    const auto row = [&climbed, up, first, rank_at, key](std::uint32_t i, auto degree) {
        const std::uint32_t x = rank_at[i];
        const SweepArcs::Arc* const arc = up + first[i];
        std::uint64_t best = climbed.contains(x) ? key[x] : nowhere;
        for (std::uint32_t a = 0; a < degree; ++a) {
            best = std::min(best, key[arc[a].head] + as_key(arc[a].ds));
        }
        key[x] = std::min(best, nowhere | static_cast<std::uint32_t>(best));
    };
    top_down(h, threads, [&, first](std::uint32_t begin, std::uint32_t end) {
        rows_down(first, begin, end, row);
    });
}

namespace {

/// What the way down of several starts at once works on.
struct Lanes {
    const SweepArcs::Arc* down;
    const std::uint32_t* first;
    const std::uint32_t* rank_at;
    const Climbed* climbed;
    std::uint32_t* time;
};

[[gnu::always_inline]] inline void lanes_down(const Lanes& work, std::uint32_t begin,
                                              std::uint32_t end) {
    for (std::uint32_t i = end; i-- > begin;) {
        const std::uint32_t x = work.rank_at[i];
        std::uint32_t* const here = work.time + std::size_t{x} * sweep_lanes;
        std::array<std::uint32_t, sweep_lanes> best;
        if (work.climbed->contains(x)) {
            std::copy_n(here, sweep_lanes, best.begin());
        } else {
            best.fill(closed_ds);
        }
        for (std::uint32_t a = work.first[i]; a < work.first[i + 1]; ++a) {
            const std::uint32_t* const above =
                work.time + std::size_t{work.down[a].head} * sweep_lanes;
            const std::uint32_t ds = work.down[a].ds;
            for (std::size_t lane = 0; lane < sweep_lanes; ++lane) {
                best[lane] = std::min(best[lane], above[lane] + ds);
            }
        }
        std::copy_n(best.begin(), sweep_lanes, here);
    }
}

}  // namespace

void sweep_lanes_from(const Hierarchy& hierarchy, const SweepArcs& arcs,
                      std::span<const SweepStart> starts, std::span<std::uint32_t> ds,
                      unsigned threads) {
    assert(ds.size() == std::size_t{hierarchy.node_count()} * sweep_lanes);
    assert(starts.size() <= sweep_lanes);
    const HierarchyArrays& h = hierarchy.arrays();
    const Climbed climbed = climbed_from(h, starts);
    const auto lanes_of = [&](std::uint32_t x) {
        return ds.subspan(std::size_t{x} * sweep_lanes, sweep_lanes);
    };
    climbed.for_each([&](std::uint32_t x) {
        const auto lanes = lanes_of(x);
        std::fill(lanes.begin(), lanes.end(), closed_ds);
    });
    for (std::size_t lane = 0; lane < starts.size(); ++lane) {
        lanes_of(starts[lane].rank)[lane] = starts[lane].ds;
    }
    climb_arcs(arcs.order(), arcs.up(), climbed, [&](std::uint32_t x, const SweepArcs::Arc& arc) {
        for (std::size_t lane = 0; lane < sweep_lanes; ++lane) {
            lanes_of(arc.head)[lane] =
                std::min(lanes_of(arc.head)[lane], lanes_of(x)[lane] + arc.ds);
        }
    });
    const Lanes work{arcs.down().data(), arcs.order().first().data(), arcs.order().rank_at().data(),
                     &climbed, ds.data()};
    top_down(h, threads,
             [&work, down = Wide<&lanes_down>::best()](std::uint32_t begin, std::uint32_t end) {
                 down(work, begin, end);
             });
}

void sweep_together(const Hierarchy& hierarchy,
                    std::span<const TogetherSweep, together_count> sweeps,
                    std::span<std::uint32_t> ds) {
    assert(ds.size() == std::size_t{hierarchy.node_count()} * together_stride);
    const HierarchyArrays& h = hierarchy.arrays();
    const SweepOrder& order = sweeps[0].arcs.order();
    Climbed climbed{h};
    std::array<const SweepArcs::Arc*, together_count> up{};
    std::array<const SweepArcs::Arc*, together_count> down{};
    for (std::size_t i = 0; i < together_count; ++i) {
        const auto& [arcs, is_towards, starts] = sweeps[i];
        up.at(i) = (is_towards ? arcs.down() : arcs.up()).data();
        down.at(i) = (is_towards ? arcs.up() : arcs.down()).data();
        for (const SweepStart& start : starts) {
            climbed.add(start.rank);
        }
    }
    std::uint32_t* const time = ds.data();
    const auto at = [time](std::uint32_t rank) {
        return time + std::size_t{rank} * together_stride;
    };
    const auto lower = [](std::uint32_t* best, const std::uint32_t* than, const auto& arcs,
                          std::uint32_t arc) {
        for (std::size_t i = 0; i < together_count; ++i) {
            best[i] = std::min(best[i], than[i] + arcs[i][arc].ds);
        }
    };
    climbed.for_each([&](std::uint32_t x) { std::fill_n(at(x), together_stride, closed_ds); });
    for (std::size_t i = 0; i < together_count; ++i) {
        for (const SweepStart& start : sweeps[i].starts) {
            at(start.rank)[i] = std::min(at(start.rank)[i], start.ds);
        }
    }
    const std::uint32_t* const first = order.first().data();
    climbed.for_each([&](std::uint32_t x) {
        const std::uint32_t position = order.position_of_rank()[x];
        for (std::uint32_t a = first[position]; a < first[position + 1]; ++a) {
            lower(at(up[0][a].head), at(x), up, a);
        }
    });
    const std::uint32_t* const rank_at = order.rank_at().data();
    top_down(h, 1, [&](std::uint32_t begin, std::uint32_t end) {
        for (std::uint32_t position = end; position-- > begin;) {
            const std::uint32_t x = rank_at[position];
            std::array<std::uint32_t, together_stride> best;
            if (climbed.contains(x)) {
                std::copy_n(at(x), together_stride, best.begin());
            } else {
                best.fill(closed_ds);
            }
            for (std::uint32_t a = first[position]; a < first[position + 1]; ++a) {
                lower(best.data(), at(down[0][a].head), down, a);
            }
            std::copy_n(best.begin(), together_stride, at(x));
        }
    });
}

}  // namespace waybourne::routing
