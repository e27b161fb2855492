#include "routing/customise.hpp"

#include <barrier>
#include <queue>

#include "routing/internal/parallel.hpp"

namespace waybourne::routing {

namespace {

/// The value of one up arc from the network's own arcs.
template <typename Value>
BothWays<Value> respected(const HierarchyArrays& h, std::span<const Value> values,
                          std::uint32_t arc) {
    BothWays<Value> both;
    for (std::uint32_t i = h.in_first[arc]; i < h.in_first[arc + 1]; ++i) {
        const Value value = values[h.in_arc[i] / 2];
        Value& side = h.in_arc[i] % 2 == 0 ? both.up : both.down;
        side = lesser(side, value);
    }
    return both;
}

/// Where each up arc of the rank at work leads: its arc by head. One per thread.
using ArcByHead = std::vector<std::uint32_t>;

/// Pulls the lower triangles of all up arcs of `y`.
template <typename Value>
void pull(const HierarchyArrays& h, std::span<BothWays<Value>> weights, std::uint32_t y,
          ArcByHead& arc_by_head) {
    for (std::uint32_t a = h.up_first[y]; a < h.up_first[y + 1]; ++a) {
        arc_by_head[h.up_head[a]] = a;
    }
    for (std::uint32_t i = h.down_first[y]; i < h.down_first[y + 1]; ++i) {
        const std::uint32_t xy = h.down_arc[i];
        const BothWays<Value> leg = weights[xy];
        const std::uint32_t end = h.up_first[h.down_tail[i] + 1];
        for (std::uint32_t xz = xy + 1; xz < end; ++xz) {  // all of these end above y
            BothWays<Value>& yz = weights[arc_by_head[h.up_head[xz]]];
            const BothWays<Value>& other = weights[xz];
            yz.up = lesser(yz.up, sum(leg.down, other.up));
            yz.down = lesser(yz.down, sum(other.down, leg.up));
        }
    }
}

/// Ranks of the top by falling depth: those of one depth do not depend on each other.
std::vector<std::uint32_t> top_levels(const HierarchyArrays& h) {
    std::vector<std::uint32_t> first;
    const auto nodes = static_cast<std::uint32_t>(h.node_of_rank.size());
    for (std::uint32_t y = h.job_first.back(); y < nodes; ++y) {
        if (y == h.job_first.back() || h.depth[y] != h.depth[y - 1]) {
            first.push_back(y);
        }
    }
    first.push_back(nodes);
    return first;
}

}  // namespace

template <typename Value>
std::vector<BothWays<Value>> respect(const Hierarchy& hierarchy, std::span<const Value> values,
                                     unsigned threads) {
    const HierarchyArrays& h = hierarchy.arrays();
    std::vector<BothWays<Value>> weights(hierarchy.arc_count());
    constexpr std::uint32_t block = 1U << 14;
    run_jobs((hierarchy.arc_count() + block - 1) / block, threads,
             [&](std::uint32_t job, unsigned) {
                 const std::uint32_t end = std::min(hierarchy.arc_count(), (job + 1) * block);
                 for (std::uint32_t a = job * block; a < end; ++a) {
                     weights[a] = respected(h, values, a);
                 }
             });
    return weights;
}

template <typename Value>
void customise(const Hierarchy& hierarchy, std::span<BothWays<Value>> weights, unsigned threads) {
    const HierarchyArrays& h = hierarchy.arrays();
    const auto jobs = static_cast<std::uint32_t>(h.job_first.size() - 1);
    const std::vector<std::uint32_t> levels = top_levels(h);
    std::atomic<std::uint32_t> next_job{0};
    std::barrier together{static_cast<std::ptrdiff_t>(threads)};
    on_threads(threads, [&](unsigned thread) {
        ArcByHead arc_by_head(hierarchy.node_count());
        for (std::uint32_t job = next_job++; job < jobs; job = next_job++) {
            for (std::uint32_t y = h.job_first[job]; y < h.job_first[job + 1]; ++y) {
                pull(h, weights, y, arc_by_head);
            }
        }
        together.arrive_and_wait();
        for (std::size_t level = 0; level + 1 < levels.size(); ++level) {
            for (std::uint32_t y = levels[level] + thread; y < levels[level + 1]; y += threads) {
                pull(h, weights, y, arc_by_head);
            }
            together.arrive_and_wait();
        }
    });
}

template <typename Value>
void make_perfect(const Hierarchy& hierarchy, std::span<BothWays<Value>> weights) {
    const HierarchyArrays& h = hierarchy.arrays();
    ArcByHead arc_by_head(hierarchy.node_count());
    for (std::uint32_t x = hierarchy.node_count(); x-- > 0;) {
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
            arc_by_head[h.up_head[a]] = a;
        }
        // for each pair y < z of upper neighbours, arc yz exact already
        for (std::uint32_t xy = h.up_first[x]; xy < h.up_first[x + 1]; ++xy) {
            const std::uint32_t y = h.up_head[xy];
            std::uint32_t xz = xy + 1;
            for (std::uint32_t yz = h.up_first[y]; yz < h.up_first[y + 1] && xz < h.up_first[x + 1];
                 ++yz) {
                if (h.up_head[yz] != h.up_head[xz]) {
                    continue;
                }
                BothWays<Value>& near = weights[xy];
                BothWays<Value>& far = weights[xz];
                const BothWays<Value>& across = weights[yz];
                near.up = lesser(near.up, sum(far.up, across.down));
                near.down = lesser(near.down, sum(across.up, far.down));
                far.up = lesser(far.up, sum(near.up, across.up));
                far.down = lesser(far.down, sum(across.down, near.down));
                ++xz;
            }
        }
    }
}

namespace {

/// What the lower triangle over legs xy and xz says of yz, y below z.
template <typename Value>
BothWays<Value> across(const BothWays<Value>& xy, const BothWays<Value>& xz) {
    return {sum(xy.down, xz.up), sum(xz.down, xy.up)};
}

/// The value of an up arc yz from the network and all its lower triangles. The shorter list of
/// lower neighbours is looked up in the longer one.
template <typename Value>
BothWays<Value> recomputed(const HierarchyArrays& h, std::span<const Value> values,
                           std::span<const BothWays<Value>> weights, std::uint32_t y,
                           std::uint32_t yz) {
    const std::uint32_t z = h.up_head[yz];
    BothWays<Value> both = respected(h, values, yz);
    const auto lower = [&](std::uint32_t rank) {
        return std::pair{h.down_tail.begin() + h.down_first[rank],
                         h.down_tail.begin() + h.down_first[rank + 1]};
    };
    auto [few, few_end] = lower(y);
    auto [many, many_end] = lower(z);
    const bool is_swapped = few_end - few > many_end - many;
    if (is_swapped) {
        std::swap(few, many);
        std::swap(few_end, many_end);
    }
    for (; few != few_end; ++few) {
        many = std::lower_bound(many, many_end, *few);
        if (many == many_end || *many != *few) {
            continue;
        }
        std::uint32_t xy = h.down_arc[static_cast<std::size_t>(few - h.down_tail.begin())];
        std::uint32_t xz = h.down_arc[static_cast<std::size_t>(many - h.down_tail.begin())];
        if (is_swapped) {
            std::swap(xy, xz);
        }
        const BothWays<Value> way = across(weights[xy], weights[xz]);
        both = {lesser(both.up, way.up), lesser(both.down, way.down)};
    }
    return both;
}

/// Whether a triangle that said `before` and now says `after` can change an arc worth `value`.
template <typename Value>
bool matters(const Value& value, const Value& before, const Value& after) {
    return after < value || (before == value && after != before);
}

std::uint32_t tail_of(const HierarchyArrays& h, std::uint32_t arc) {
    const auto after = std::upper_bound(h.up_first.begin(), h.up_first.end(), arc);
    return static_cast<std::uint32_t>(after - h.up_first.begin()) - 1;
}

}  // namespace

template <typename Value>
std::vector<std::uint32_t> customise_again(const Hierarchy& hierarchy,
                                           std::span<const Value> values,
                                           std::span<const std::uint32_t> changed,
                                           std::span<BothWays<Value>> weights) {
    const HierarchyArrays& h = hierarchy.arrays();
    // lower tails first: an arc depends on arcs with lower tails only
    std::priority_queue<std::uint32_t, std::vector<std::uint32_t>, std::greater<>> due;
    for (const std::uint32_t arc : changed) {
        if (h.up_of_arc[arc] != no_arc) {
            due.push(h.up_of_arc[arc] / 2);
        }
    }
    std::vector<std::uint32_t> different;
    while (!due.empty()) {
        const std::uint32_t arc = due.top();
        while (!due.empty() && due.top() == arc) {
            due.pop();
        }
        const std::uint32_t x = tail_of(h, arc);
        const BothWays<Value> before = weights[arc];
        const BothWays<Value> after =
            recomputed(h, values, std::span<const BothWays<Value>>(weights), x, arc);
        if (after == before) {
            continue;
        }
        weights[arc] = after;
        different.push_back(arc);
        // the arcs that this one is a leg of: between its head and x's other upper neighbours
        for (std::uint32_t other = h.up_first[x]; other < h.up_first[x + 1]; ++other) {
            if (other == arc) {
                continue;
            }
            const std::uint32_t low = std::min(h.up_head[arc], h.up_head[other]);
            const auto begin = h.up_head.begin() + h.up_first[low];
            const auto end = h.up_head.begin() + h.up_first[low + 1];
            const auto found =
                std::lower_bound(begin, end, std::max(h.up_head[arc], h.up_head[other]));
            const auto upper = static_cast<std::uint32_t>(found - h.up_head.begin());
            const BothWays<Value>& leg = weights[other];
            const BothWays<Value> said = arc < other ? across(before, leg) : across(leg, before);
            const BothWays<Value> says = arc < other ? across(after, leg) : across(leg, after);
            if (matters(weights[upper].up, said.up, says.up) ||
                matters(weights[upper].down, said.down, says.down)) {
                due.push(upper);
            }
        }
    }
    return different;
}

template std::vector<BothWays<Time>> respect(const Hierarchy&, std::span<const Time>, unsigned);
template void customise(const Hierarchy&, std::span<BothWays<Time>>, unsigned);
template void make_perfect(const Hierarchy&, std::span<BothWays<Time>>);
template std::vector<std::uint32_t> customise_again(const Hierarchy&, std::span<const Time>,
                                                    std::span<const std::uint32_t>,
                                                    std::span<BothWays<Time>>);

template std::vector<BothWays<TimeAndSpread>> respect(const Hierarchy&,
                                                      std::span<const TimeAndSpread>, unsigned);
template void customise(const Hierarchy&, std::span<BothWays<TimeAndSpread>>, unsigned);
template void make_perfect(const Hierarchy&, std::span<BothWays<TimeAndSpread>>);
template std::vector<std::uint32_t> customise_again(const Hierarchy&,
                                                    std::span<const TimeAndSpread>,
                                                    std::span<const std::uint32_t>,
                                                    std::span<BothWays<TimeAndSpread>>);

template std::vector<BothWays<Times<4>>> respect(const Hierarchy&, std::span<const Times<4>>,
                                                 unsigned);
template void customise(const Hierarchy&, std::span<BothWays<Times<4>>>, unsigned);
template std::vector<BothWays<Times<8>>> respect(const Hierarchy&, std::span<const Times<8>>,
                                                 unsigned);
template void customise(const Hierarchy&, std::span<BothWays<Times<8>>>, unsigned);

}  // namespace waybourne::routing
