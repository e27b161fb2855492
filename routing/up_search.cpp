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
        for (std::uint32_t i = h_.down_first[low];; ++i) {
            assert(i < h_.down_first[low + 1]);
            const std::uint32_t to_low = h_.down_arc[i];
            const auto begin = h_.up_head.begin() + to_low + 1;
            const auto end = h_.up_head.begin() + h_.row_end(to_low);
            const auto found = std::lower_bound(begin, end, high);
            if (found == end || *found != high) {
                continue;
            }
            const auto to_high = static_cast<std::uint32_t>(found - h_.up_head.begin());
            const Value way = climbs ? sum(weights_[to_low].down, weights_[to_high].up)
                                     : sum(weights_[to_high].down, weights_[to_low].up);
            if (way == value) {
                const std::uint32_t middle = h_.tail(to_low);
                unpack(middle, climbs ? to_low : to_high, false);
                unpack(middle, climbs ? to_high : to_low, true);
                return;
            }
        }
    }

private:
    const HierarchyArrays& h_;
    std::span<const Value> values_;
    std::span<const BothWays<Value>> weights_;
    std::vector<std::uint32_t>& arcs_;
};

}  // namespace

template <typename Value>
std::vector<std::uint32_t> unpack(const Hierarchy& hierarchy, std::span<const Value> values,
                                  std::span<const BothWays<Value>> weights,
                                  const UpSearch<Value>& from, const UpSearch<Value>& to,
                                  const Meeting<Value>& meeting) {
    std::vector<std::uint32_t> arcs;
    if (meeting.rank == no_rank) {
        return arcs;
    }
    const HierarchyArrays& h = hierarchy.arrays();
    Unpacker<Value> unpacker{h, values, weights, arcs};
    std::vector<std::uint32_t> climb{meeting.rank};
    while (from.previous_at_depth(h.depth[climb.back()]) != no_rank) {
        climb.push_back(from.previous_at_depth(h.depth[climb.back()]));
    }
    for (std::size_t i = climb.size(); i-- > 1;) {
        unpacker.unpack(climb[i], h.up_arc(climb[i], climb[i - 1]), true);
    }
    for (std::uint32_t high = meeting.rank; to.previous_at_depth(h.depth[high]) != no_rank;) {
        const std::uint32_t low = to.previous_at_depth(h.depth[high]);
        unpacker.unpack(low, h.up_arc(low, high), false);
        high = low;
    }
    return arcs;
}

template class UpSearch<Time>;
template Meeting<Time> meet(const UpSearch<Time>&, const UpSearch<Time>&);
template std::vector<std::uint32_t> unpack(const Hierarchy&, std::span<const Time>,
                                           std::span<const BothWays<Time>>, const UpSearch<Time>&,
                                           const UpSearch<Time>&, const Meeting<Time>&);
template class UpSearch<TimeAndSpread>;
template Meeting<TimeAndSpread> meet(const UpSearch<TimeAndSpread>&,
                                     const UpSearch<TimeAndSpread>&);
template std::vector<std::uint32_t> unpack(const Hierarchy&, std::span<const TimeAndSpread>,
                                           std::span<const BothWays<TimeAndSpread>>,
                                           const UpSearch<TimeAndSpread>&,
                                           const UpSearch<TimeAndSpread>&,
                                           const Meeting<TimeAndSpread>&);

}  // namespace waybourne::routing
