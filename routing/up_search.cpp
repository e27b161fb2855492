#include "routing/up_search.hpp"

#include <algorithm>
#include <cassert>

namespace waybourne::routing {

template <typename Value>
UpSearch<Value>::UpSearch(const Hierarchy& hierarchy)
    : by_depth_(hierarchy.height(), Value::closed()), previous_(by_depth_.size(), no_rank) {
    chain_.reserve(by_depth_.size());
}

template <typename Value>
void UpSearch<Value>::run(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
                          std::uint32_t rank, Value start, Direction direction) {
    const HierarchyArrays& h = hierarchy.arrays();
    begin(h, rank, start);
    chain_.clear();
    const bool is_from_here = direction == Direction::from_here;
    std::uint32_t depth = depth_;
    for (std::uint32_t x = rank; x != no_rank; x = h.parent[x], --depth) {
        chain_.push_back(x);
        if (is_from_here) {
            relax_all<&BothWays<Value>::up>(h, weights, x, depth);
        } else {
            relax_all<&BothWays<Value>::down>(h, weights, x, depth);
        }
    }
}

/// Two searches that know of each other.
template <typename Value>
class PairSearch {
public:
    PairSearch(const HierarchyArrays& h, std::span<const BothWays<Value>> weights,
               UpSearch<Value>& from, UpSearch<Value>& to)
        : h_(h), weights_(weights), from_(from), to_(to) {}

    Meeting<Value> run(std::uint32_t from_rank, std::uint32_t to_rank) {
        from_.begin(h_, from_rank, Value::none());
        to_.begin(h_, to_rank, Value::none());
        std::uint32_t x = from_rank;
        std::uint32_t y = to_rank;
        std::uint32_t from_depth = from_.depth();
        std::uint32_t to_depth = to_.depth();
        while (x != y) {  // ancestors have higher ranks
            if (x < y) {
                climb_up(x, from_depth--);
                x = h_.parent[x];
            } else {
                climb_down(y, to_depth--);
                y = h_.parent[y];
            }
            if (x == no_rank || y == no_rank) {
                return {};  // in different trees
            }
        }
        return climb_together(x, from_depth);
    }

private:
    void climb_up(std::uint32_t x, std::uint32_t depth) {
        from_.template relax_all<&BothWays<Value>::up>(h_, weights_, x, depth);
    }
    void climb_down(std::uint32_t x, std::uint32_t depth) {
        to_.template relax_all<&BothWays<Value>::down>(h_, weights_, x, depth);
    }
    Meeting<Value> climb_together(std::uint32_t x, std::uint32_t depth) {
        Meeting<Value> best;
        for (; x != no_rank; x = h_.parent[x], --depth) {
            const Value up = from_.by_depth_[depth];
            const Value down = to_.by_depth_[depth];
            if (up.is_open() && down.is_open() && sum(up, down) < best.value) {
                best = {sum(up, down), x};
            }
            if (up < best.value) {
                climb_up(x, depth);
            }
            if (down < best.value) {
                climb_down(x, depth);
            }
        }
        return best;
    }

    const HierarchyArrays& h_;
    std::span<const BothWays<Value>> weights_;
    UpSearch<Value>& from_;
    UpSearch<Value>& to_;
};

template <typename Value>
Meeting<Value> meet_between(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
                            std::uint32_t from_rank, std::uint32_t to_rank, UpSearch<Value>& from,
                            UpSearch<Value>& to) {
    return PairSearch<Value>{hierarchy.arrays(), weights, from, to}.run(from_rank, to_rank);
}

template <typename Value>
Meeting<Value> meet(const UpSearch<Value>& from, const UpSearch<Value>& to) {
    // the common ancestors are the common ends of the two chains
    Meeting<Value> best;
    const auto a = from.chain();
    const auto b = to.chain();
    for (std::size_t i = 1; i <= std::min(a.size(), b.size()); ++i) {
        const std::uint32_t rank = a[a.size() - i];
        if (rank != b[b.size() - i]) {
            break;
        }
        const auto depth = static_cast<std::uint32_t>(i - 1);
        const Value value = sum(from.at_depth(depth), to.at_depth(depth));
        if (value < best.value || (value == best.value && rank < best.rank && value.is_open())) {
            best = {value, rank};
        }
    }
    return best;
}

namespace {

/// Turns one up arc back into arcs of the network.
template <typename Value>
class Unpacker {
public:
    Unpacker(const HierarchyArrays& h, std::span<const Value> values,
             std::span<const BothWays<Value>> weights, std::vector<std::uint32_t>& arcs)
        : h_(h), values_(values), weights_(weights), arcs_(arcs) {}

    /// Whether arcs are put down last first.
    void set_backwards(bool is_backwards) { is_backwards_ = is_backwards; }

    /// @param climbs from the lower to the higher end
    void unpack(std::uint32_t low, std::uint32_t arc, bool climbs) {
        const Value value = climbs ? weights_[arc].up : weights_[arc].down;
        std::uint32_t same = no_arc;
        h_.for_each_network_arc(low, arc, [&](std::uint32_t one, bool runs_up) {
            if (same == no_arc && runs_up == climbs && values_[one] == value) {
                same = one;
            }
        });
        if (same != no_arc) {
            arcs_.push_back(same);
            return;
        }
        const std::uint32_t high = h_.up_head[arc];
        // both lists are in the order of the arcs, and the legs of a triangle lie in one row
        Arcs to_lows = lower_arcs(low);
        Arcs to_highs = lower_arcs(high);
        while (true) {
            to_highs = from_on(to_highs, to_lows.front() + 1);
            assert(!to_highs.empty());
            const std::uint32_t to_high = to_highs.front();
            const Arcs beyond = from_on(to_lows, to_high);
            const std::uint32_t to_low = *(beyond.data() - 1);
            to_lows = beyond;
            if (h_.row_end(to_low) <= to_high) {
                continue;
            }
            const Value way = climbs ? sum(weights_[to_low].down, weights_[to_high].up)
                                     : sum(weights_[to_high].down, weights_[to_low].up);
            if (way != value) {
                continue;
            }
            // the way first falls to the middle, then climbs from it
            const std::uint32_t middle = h_.tail(to_low);
            if (!is_backwards_) {
                unpack(middle, climbs ? to_low : to_high, false);
            }
            unpack(middle, climbs ? to_high : to_low, true);
            if (is_backwards_) {
                unpack(middle, climbs ? to_low : to_high, false);
            }
            return;
        }
    }

private:
    using Arcs = std::span<const std::uint32_t>;

    Arcs lower_arcs(std::uint32_t rank) const {
        return h_.down_arc.subspan(h_.down_first[rank],
                                   h_.down_first[rank + 1] - h_.down_first[rank]);
    }
    /// What is left from `arc` on. Steps that double, since it is mostly near.
    static Arcs from_on(const Arcs& arcs, std::uint32_t arc) {
        std::size_t step = 1;
        while (step <= arcs.size() && arcs[step - 1] < arc) {
            step *= 2;
        }
        const auto begin = arcs.begin() + static_cast<std::ptrdiff_t>(step / 2);
        const auto end = arcs.begin() + static_cast<std::ptrdiff_t>(std::min(step, arcs.size()));
        return {std::lower_bound(begin, end, arc), arcs.end()};
    }

    const HierarchyArrays& h_;
    std::span<const Value> values_;
    std::span<const BothWays<Value>> weights_;
    std::vector<std::uint32_t>& arcs_;
    bool is_backwards_ = false;
};

}  // namespace

template <typename Value>
void unpack(const Weighted<Value>& weighted, const UpSearch<Value>& from, const UpSearch<Value>& to,
            const Meeting<Value>& meeting, std::vector<std::uint32_t>& arcs) {
    arcs.clear();
    if (meeting.rank == no_rank) {
        return;
    }
    const HierarchyArrays& h = weighted.hierarchy.arrays();
    Unpacker<Value> unpacker{h, weighted.values, weighted.weights, arcs};
    const auto previous = [&](const UpSearch<Value>& search, std::uint32_t rank) {
        return search.previous_at_depth(h.depth[rank]);
    };
    unpacker.set_backwards(true);  // the climb is known from its top
    for (std::uint32_t high = meeting.rank; previous(from, high) != no_rank;) {
        const std::uint32_t low = previous(from, high);
        unpacker.unpack(low, h.up_arc(low, high), true);
        high = low;
    }
    std::reverse(arcs.begin(), arcs.end());
    unpacker.set_backwards(false);
    for (std::uint32_t high = meeting.rank; previous(to, high) != no_rank;) {
        const std::uint32_t low = previous(to, high);
        unpacker.unpack(low, h.up_arc(low, high), false);
        high = low;
    }
}

template class UpSearch<Time>;
template Meeting<Time> meet(const UpSearch<Time>&, const UpSearch<Time>&);
template Meeting<Time> meet_between(const Hierarchy&, std::span<const BothWays<Time>>,
                                    std::uint32_t, std::uint32_t, UpSearch<Time>&, UpSearch<Time>&);
template void unpack(const Weighted<Time>&, const UpSearch<Time>&, const UpSearch<Time>&,
                     const Meeting<Time>&, std::vector<std::uint32_t>&);
template class UpSearch<TimeAndSpread>;
template Meeting<TimeAndSpread> meet(const UpSearch<TimeAndSpread>&,
                                     const UpSearch<TimeAndSpread>&);
template Meeting<TimeAndSpread> meet_between(const Hierarchy&,
                                             std::span<const BothWays<TimeAndSpread>>,
                                             std::uint32_t, std::uint32_t, UpSearch<TimeAndSpread>&,
                                             UpSearch<TimeAndSpread>&);
template void unpack(const Weighted<TimeAndSpread>&, const UpSearch<TimeAndSpread>&,
                     const UpSearch<TimeAndSpread>&, const Meeting<TimeAndSpread>&,
                     std::vector<std::uint32_t>&);
}  // namespace waybourne::routing
