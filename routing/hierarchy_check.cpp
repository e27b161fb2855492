#include <algorithm>
#include <numeric>
#include <vector>

#include "routing/internal/network_format.hpp"

namespace waybourne::routing {

namespace {

using Indices = std::span<const std::uint32_t>;

bool is_partition(Indices first, std::size_t count) {
    return first.front() == 0 && first.back() == count &&
           std::is_sorted(first.begin(), first.end());
}

/// The first fault found, or null. Each check rests on those before it.
class HierarchyFaultFinder {
public:
    HierarchyFaultFinder(const HierarchyArrays& hierarchy, const RoadNetwork& network)
        : h_(hierarchy), network_(network), nodes_(network.node_count()) {}

    const char* find() const {
        using Check = const char* (HierarchyFaultFinder::*)() const;
        for (const Check check :
             {&HierarchyFaultFinder::ranks, &HierarchyFaultFinder::up_arcs,
              &HierarchyFaultFinder::tree, &HierarchyFaultFinder::shortcuts,
              &HierarchyFaultFinder::down_arcs, &HierarchyFaultFinder::rows,
              &HierarchyFaultFinder::network_arcs, &HierarchyFaultFinder::jobs}) {
            const char* const fault = (this->*check)();
            if (fault != nullptr) {
                return fault;
            }
        }
        return nullptr;
    }

private:
    Indices heads(std::uint32_t x) const {
        return h_.up_head.subspan(h_.up_first[x], h_.up_first[x + 1] - h_.up_first[x]);
    }

    const char* ranks() const {
        for (std::uint32_t x = 0; x < nodes_; ++x) {
            if (h_.node_of_rank[x] >= nodes_ || h_.rank_of_node[h_.node_of_rank[x]] != x) {
                return "the hierarchy's ranks are not an order of the nodes";
            }
        }
        return nullptr;
    }

    const char* up_arcs() const {
        if (!is_partition(h_.up_first, h_.up_head.size())) {
            return "the hierarchy's up arcs are out of order";
        }
        for (std::uint32_t x = 0; x < nodes_; ++x) {
            std::uint32_t below = x;
            for (const std::uint32_t head : heads(x)) {
                if (head <= below || head >= nodes_) {
                    return "an up arc of the hierarchy does not lead up, or is out of order";
                }
                below = head;
            }
        }
        return nullptr;
    }

    const char* tree() const {
        std::uint32_t height = 0;
        for (std::uint32_t x = nodes_; x-- > 0;) {
            const Indices above = heads(x);
            const std::uint32_t parent = above.empty() ? no_rank : above.front();
            const std::uint32_t depth = above.empty() ? 0 : h_.depth[parent] + 1;
            if (h_.parent[x] != parent || h_.depth[x] != depth) {
                return "the hierarchy's tree does not fit its up arcs";
            }
            height = std::max(height, depth + 1);
        }
        return height == h_.height ? nullptr : "the hierarchy's height is wrong";
    }

    /// What x sees above its parent, its parent sees too: so every triangle is there.
    const char* shortcuts() const {
        for (std::uint32_t x = 0; x < nodes_; ++x) {
            const Indices above = heads(x);
            if (above.size() > 1) {
                const Indices of_parent = heads(above.front());
                if (!std::includes(of_parent.begin(), of_parent.end(), above.begin() + 1,
                                   above.end())) {
                    return "a shortcut is missing in the hierarchy";
                }
            }
        }
        return nullptr;
    }

    const char* down_arcs() const {
        if (!is_partition(h_.down_first, h_.down_arc.size())) {
            return "the hierarchy's down arcs are out of order";
        }
        for (std::uint32_t y = 0; y < nodes_; ++y) {
            for (std::uint32_t i = h_.down_first[y]; i < h_.down_first[y + 1]; ++i) {
                const std::uint32_t arc = h_.down_arc[i];
                if (arc >= h_.up_head.size() || h_.up_head[arc] != y ||
                    (i > h_.down_first[y] && h_.down_arc[i - 1] >= arc)) {
                    return "the hierarchy's down arcs do not fit its up arcs";
                }
            }
        }
        return nullptr;
    }

    const char* rows() const {
        const auto arcs = static_cast<std::uint32_t>(h_.up_head.size());
        std::uint32_t marked = 0;
        for (std::uint32_t x = 0; x < nodes_; ++x) {
            if (h_.up_first[x] == h_.up_first[x + 1]) {
                continue;
            }
            if (next_mark(h_.row_marks, marked, arcs) != h_.up_first[x]) {
                return "the hierarchy's row marks are wrong";
            }
            marked = h_.up_first[x] + 1;
            for (std::uint32_t block = (h_.up_first[x] + 63) / 64; 64 * block < h_.up_first[x + 1];
                 ++block) {
                if (h_.row_tails[block] != x) {
                    return "the hierarchy's row tails are wrong";
                }
            }
        }
        return next_mark(h_.row_marks, marked, arcs) == arcs
                   ? nullptr
                   : "the hierarchy's row marks are wrong";
    }

    /// Every arc but loops once, at the up arc between its ends.
    const char* network_arcs() const {
        constexpr const char* fault = "the hierarchy was made from another network";
        if (!is_partition(h_.in_first, h_.in_arc.size())) {
            return "the hierarchy's arcs of the network are out of order";
        }
        std::vector<bool> is_seen(network_.arc_count());
        for (std::uint32_t x = 0; x < nodes_; ++x) {
            for (std::uint32_t i = h_.in_first[x]; i < h_.in_first[x + 1]; ++i) {
                const ArcId arc{h_.in_arc[i] / 2};
                if (arc.value >= network_.arc_count() || is_seen[arc.value] ||
                    h_.in_slot[i] >= heads(x).size()) {
                    return fault;
                }
                is_seen[arc.value] = true;
                NodeId low{h_.node_of_rank[x]};
                NodeId high{h_.node_of_rank[heads(x)[h_.in_slot[i]]]};
                if (h_.in_arc[i] % 2 == 1) {
                    std::swap(low, high);
                }
                if (network_.tail(arc) != low || network_.head(arc) != high) {
                    return fault;
                }
            }
        }
        for (std::uint32_t number = 0; number < network_.arc_count(); ++number) {
            const ArcId arc{number};
            if (!is_seen[number] && network_.tail(arc) != network_.head(arc)) {
                return fault;
            }
        }
        return nullptr;
    }

    /// Jobs are worked on side by side, and of the top what has one depth.
    const char* jobs() const {
        constexpr const char* fault = "the hierarchy's jobs depend on each other";
        const std::uint32_t top = h_.job_first.back();
        if (!is_partition(h_.job_first, top) || top > nodes_) {
            return "the hierarchy's jobs are out of order";
        }
        for (std::size_t job = 0; job + 1 < h_.job_first.size(); ++job) {
            for (std::uint32_t x = h_.job_first[job]; x < h_.job_first[job + 1]; ++x) {
                for (const std::uint32_t head : heads(x)) {
                    if (head >= h_.job_first[job + 1] && head < top) {
                        return fault;
                    }
                }
            }
        }
        const Indices top_depths = h_.depth.subspan(top);
        return std::is_sorted(top_depths.rbegin(), top_depths.rend()) ? nullptr : fault;
    }

    const HierarchyArrays& h_;
    const RoadNetwork& network_;
    std::uint32_t nodes_;
};

}  // namespace

const char* find_fault(const HierarchyArrays& hierarchy, const RoadNetwork& network) {
    return HierarchyFaultFinder{hierarchy, network}.find();
}

}  // namespace waybourne::routing
