#include "routing/up_search.hpp"

#include <algorithm>
#include <cassert>
#include <cstddef>

#include "routing/internal/wide.hpp"

namespace waybourne::routing {

namespace {

template <typename Value>
[[gnu::always_inline]] inline void pass_up_run(const BothWays<Value>* arcs, std::uint32_t count,
                                               Value here, Value* above) {
    for (std::ptrdiff_t i = 0; i < static_cast<std::ptrdiff_t>(count); ++i) {
        above[-i] = lesser(above[-i], sum(here, arcs[i].up));
    }
}

}  // namespace

template <typename Value>
UpSearch<Value>::UpSearch(const Hierarchy& hierarchy)
    : pass_up_run_(Wide<&pass_up_run<Value>>::best()),
      by_depth_(hierarchy.height(), Value::closed()),
      previous_(by_depth_.size(), no_rank) {
    chain_.reserve(by_depth_.size());
}

template <typename Value>
void UpSearch<Value>::run(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
                          std::span<const UpStart<Value>> starts, Direction direction) {
    const HierarchyArrays& h = hierarchy.arrays();
    begin(h, starts);
    chain_.clear();
    const bool is_from_here = direction == Direction::from_here;
    std::uint32_t depth = depth_;
    for (std::uint32_t x = starts.front().rank; x != no_rank; x = h.parent[x], --depth) {
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

template class UpSearch<Time>;
template Meeting<Time> meet(const UpSearch<Time>&, const UpSearch<Time>&);
template Meeting<Time> meet_between(const Hierarchy&, std::span<const BothWays<Time>>,
                                    std::uint32_t, std::uint32_t, UpSearch<Time>&, UpSearch<Time>&);
template class UpSearch<TimeAndSpread>;
template Meeting<TimeAndSpread> meet(const UpSearch<TimeAndSpread>&,
                                     const UpSearch<TimeAndSpread>&);
template Meeting<TimeAndSpread> meet_between(const Hierarchy&,
                                             std::span<const BothWays<TimeAndSpread>>,
                                             std::uint32_t, std::uint32_t, UpSearch<TimeAndSpread>&,
                                             UpSearch<TimeAndSpread>&);

}  // namespace waybourne::routing
