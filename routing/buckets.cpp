#include "routing/buckets.hpp"

#include <algorithm>

namespace waybourne::routing {

template <typename Value>
Buckets<Value>::Buckets(const Hierarchy& hierarchy)
    : slot_of_rank_(hierarchy.node_count(), 0), slots_(1), search_(hierarchy) {}

template <typename Value>
void Buckets<Value>::add(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
                         std::span<const UpStart<Value>> ranks, std::uint32_t place) {
    const HierarchyArrays& h = hierarchy.arrays();
    search_.run(hierarchy, weights, ranks, UpSearch<Value>::Direction::to_here);
    for (const std::uint32_t x : search_.chain()) {
        const Value here = search_.at_depth(h.depth[x]);
        if (!here.is_open()) {
            continue;
        }
        // what climbs past x and on is found higher up, at no greater value
        bool is_beaten = false;
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1] && !is_beaten; ++a) {
            is_beaten = !(here < sum(weights[a].up, search_.at_depth(h.depth[h.up_head[a]])));
        }
        if (is_beaten) {
            continue;
        }
        if (slot_of_rank_[x] == 0) {
            slot_of_rank_[x] = static_cast<std::uint32_t>(slots_.size());
            slots_.emplace_back();
        }
        std::vector<Entry>& slot = slots_[slot_of_rank_[x]];
        const auto after = std::find_if(slot.begin(), slot.end(), [&](const Entry& other) {
            return here < other.value || (here == other.value && place < other.place);
        });
        slot.insert(after, {here, place});
    }
}

template <typename Value>
void Buckets<Value>::remove(std::uint32_t place) {
    for (std::vector<Entry>& slot : slots_) {
        std::erase_if(slot, [&](const Entry& entry) { return entry.place == place; });
    }
}

template <typename Value>
std::size_t Buckets<Value>::entry_count() const {
    std::size_t count = 0;
    for (const std::vector<Entry>& slot : slots_) {
        count += slot.size();
    }
    return count;
}

template class Buckets<Time>;
template class Buckets<TimeAndSpread>;

}  // namespace waybourne::routing
