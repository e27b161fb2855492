#include "routing/sweep.hpp"

#include <algorithm>
#include <cassert>

#include "routing/internal/parallel.hpp"

namespace waybourne::routing {

namespace {

constexpr std::uint64_t as_key(std::uint32_t ds) {
    return std::uint64_t{ds} << 32;
}

/// The starts' ranks and all their ancestors, ascending.
std::vector<std::uint32_t> ancestors(const HierarchyArrays& h, std::span<const SweepStart> starts) {
    std::vector<std::uint32_t> ranks;
    std::vector<bool> is_known(h.node_of_rank.size());
    for (const SweepStart& start : starts) {
        for (std::uint32_t x = start.rank; x != no_rank && !is_known[x]; x = h.parent[x]) {
            is_known[x] = true;
            ranks.push_back(x);
        }
    }
    std::sort(ranks.begin(), ranks.end());
    return ranks;
}

/// Runs `sweep(begin, end)` over all ranks from the top down: the top alone, then the subtrees.
template <typename Sweep>
void top_down(const HierarchyArrays& h, unsigned threads, const Sweep& sweep) {
    const auto nodes = static_cast<std::uint32_t>(h.node_of_rank.size());
    const auto jobs = static_cast<std::uint32_t>(h.job_first.size() - 1);
    sweep(h.job_first.back(), nodes);
    run_jobs(jobs, threads, [&](std::uint32_t job, unsigned) {
        sweep(h.job_first[jobs - 1 - job], h.job_first[jobs - job]);
    });
}

}  // namespace

SweepArcs::SweepArcs(const Hierarchy& hierarchy, std::span<const BothWays<Time>> weights)
    : up_(hierarchy.arc_count()), down_(hierarchy.arc_count()) {
    const auto head = hierarchy.arrays().up_head;
    for (std::size_t a = 0; a < up_.size(); ++a) {
        up_[a] = {head[a], weights[a].up.ds};
        down_[a] = {head[a], weights[a].down.ds};
    }
}

void sweep_from(const Hierarchy& hierarchy, const SweepArcs& arcs,
                std::span<const SweepStart> starts, std::span<std::uint32_t> ds, unsigned threads) {
    assert(ds.size() == hierarchy.node_count());
    const HierarchyArrays& h = hierarchy.arrays();
    std::fill(ds.begin(), ds.end(), closed_ds);
    for (const SweepStart& start : starts) {
        ds[start.rank] = std::min(ds[start.rank], start.ds);
    }
    for (const std::uint32_t x : ancestors(h, starts)) {
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
            std::uint32_t& above = ds[arcs.up()[a].head];
            above = std::min(above, ds[x] + arcs.up()[a].ds);
        }
    }
    const SweepArcs::Arc* const down = arcs.down().data();
    const std::uint32_t* const first = h.up_first.data();
    std::uint32_t* const time = ds.data();
    top_down(h, threads, [=](std::uint32_t begin, std::uint32_t end) {
        for (std::uint32_t x = end; x-- > begin;) {
            std::uint32_t best = time[x];
            for (std::uint32_t a = first[x]; a < first[x + 1]; ++a) {
                best = std::min(best, time[down[a].head] + down[a].ds);
            }
            time[x] = best;
        }
    });
}

void sweep_to_nearest(const Hierarchy& hierarchy, const SweepArcs& arcs,
                      std::span<const SweepStart> places, std::span<std::uint64_t> keys,
                      unsigned threads) {
    assert(keys.size() == hierarchy.node_count());
    const HierarchyArrays& h = hierarchy.arrays();
    std::fill(keys.begin(), keys.end(), nowhere);
    for (const SweepStart& place : places) {
        keys[place.rank] = std::min(keys[place.rank], as_key(place.ds) | place.place);
    }
    // the way down to a place, climbed from the place
    for (const std::uint32_t x : ancestors(h, places)) {
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
            std::uint64_t& above = keys[arcs.down()[a].head];
            const std::uint64_t key = keys[x] + as_key(arcs.down()[a].ds);
            above = std::min(above, key);
        }
    }
    const SweepArcs::Arc* const up = arcs.up().data();
    const std::uint32_t* const first = h.up_first.data();
    std::uint64_t* const key = keys.data();
    top_down(h, threads, [=](std::uint32_t begin, std::uint32_t end) {
        for (std::uint32_t x = end; x-- > begin;) {
            std::uint64_t best = key[x];
            for (std::uint32_t a = first[x]; a < first[x + 1]; ++a) {
                best = std::min(best, key[up[a].head] + as_key(up[a].ds));
            }
            key[x] = std::min(best, nowhere | static_cast<std::uint32_t>(best));
        }
    });
}

void sweep_lanes_from(const Hierarchy& hierarchy, const SweepArcs& arcs,
                      std::span<const SweepStart> starts, std::span<std::uint32_t> ds,
                      unsigned threads) {
    assert(ds.size() == std::size_t{hierarchy.node_count()} * sweep_lanes);
    assert(starts.size() <= sweep_lanes);
    const HierarchyArrays& h = hierarchy.arrays();
    std::fill(ds.begin(), ds.end(), closed_ds);
    for (std::size_t lane = 0; lane < starts.size(); ++lane) {
        ds[starts[lane].rank * sweep_lanes + lane] = starts[lane].ds;
    }
    std::uint32_t* const time = ds.data();
    const auto relax = [time](std::uint32_t from, const SweepArcs::Arc& arc, std::uint32_t to) {
        const std::uint32_t* const source = time + std::size_t{from} * sweep_lanes;
        std::uint32_t* const target = time + std::size_t{to} * sweep_lanes;
        for (std::size_t lane = 0; lane < sweep_lanes; ++lane) {
            target[lane] = std::min(target[lane], source[lane] + arc.ds);
        }
    };
    for (const std::uint32_t x : ancestors(h, starts)) {
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
            relax(x, arcs.up()[a], arcs.up()[a].head);
        }
    }
    top_down(h, threads, [&](std::uint32_t begin, std::uint32_t end) {
        for (std::uint32_t x = end; x-- > begin;) {
            for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
                relax(arcs.down()[a].head, arcs.down()[a], x);
            }
        }
    });
}

}  // namespace waybourne::routing
