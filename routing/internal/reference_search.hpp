#pragma once
/// One search of the reference router: Dijkstra's algorithm as Boost's breadth-first visit with a
/// heap, over labels that are put back after each query instead of being made anew before it.

#include <boost/graph/breadth_first_search.hpp>
#include <boost/graph/detail/d_ary_heap.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "routing/internal/ends.hpp"
#include "routing/internal/reference_graph.hpp"

namespace waybourne::routing {

class ReferenceSearch {
public:
    ReferenceSearch(std::shared_ptr<const Metric> metric,
                    std::shared_ptr<const ReferenceGraph> graph);

    const Metric& metric() const { return *metric_; }

    /// Asked before each node is settled, with the typical time to it, in ascending order: true
    /// ends the search.
    using IsDone = std::function<bool(std::uint32_t frontier_ds)>;
    /// Told each time a quicker way to a target is found.
    using Improved = std::function<void(std::size_t target, const Label& label)>;

    /// Runs from `departure`, forgetting the last run. Nothing beyond `limit_ds` is looked at.
    /// @throws InputError if a snap is not of this network
    void run(const Departure& departure, std::span<const Snap> targets, std::uint32_t limit_ds,
             const Improved& improved, const IsDone& is_done);

    /// The best label found in the last run for each target.
    const Label& label(std::size_t target) const { return arrivals_[target].label; }
    /// The way that label stands for; only for a target that was reached.
    Way way(const Departure& departure, std::span<const Snap> targets, std::size_t target) const;

private:
    static constexpr std::uint32_t nothing = 0xFFFFFFFF;

    struct NodeState {
        Label label;
        ArcId from;
        std::uint32_t heap_place = 0;
        boost::default_color_type color = boost::white_color;
        /// Into `gates_`: targets that can be reached from this node.
        std::uint32_t first_gate = nothing;
    };
    /// One target's gate, and the next one at the same node.
    struct TargetGate {
        Gate gate;
        std::uint32_t target = 0;
        std::uint32_t next = nothing;
    };
    struct Arrival {
        Label label;
        std::uint32_t access = 0;
        /// From this node by `last`, or, where none, straight from the start's access
        /// `entry_access`.
        NodeId node;
        std::optional<ArcPart> last;
        std::uint32_t entry_access = 0;
    };
    struct LabelMap;
    struct HeapPlaceMap;
    struct ColorMap;
    struct Heap;
    class Visitor;

    void reset();
    NodeState& touch(NodeId node);
    void add_gates(std::span<const Snap> targets);
    void enter(const Entry& entry);
    void try_direct(const Departure& departure, std::span<const Snap> targets,
                    const Improved& improved);
    void pass_gates(NodeId node, const Improved& improved);
    void arrive(std::size_t target, const Arrival& arrival, const Improved& improved);

    std::shared_ptr<const Metric> metric_;
    std::shared_ptr<const ReferenceGraph> graph_;
    std::vector<NodeState> nodes_;
    std::vector<NodeId> touched_;
    std::vector<TargetGate> gates_;
    std::vector<Entry> entries_;
    std::vector<std::uint32_t> sources_;
    std::vector<Arrival> arrivals_;
    std::span<const Snap> targets_;
    Instant at_{};
};

}  // namespace waybourne::routing
