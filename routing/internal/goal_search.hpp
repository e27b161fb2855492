#pragma once
/// The exact search where times depend on the clock: A* with the hierarchy's lower bounds.

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "routing/internal/ends.hpp"
#include "routing/prepared_metric.hpp"
#include "routing/up_search.hpp"

namespace waybourne::routing {

/// The least typical time from any node to one target, without waiting: worked out from the
/// elimination tree for the nodes that are asked for, and kept until the next target (Strasser,
/// Zeitz, A fast and tight heuristic for A* in road networks, SEA 2021).
class Potential {
public:
    explicit Potential(const PreparedMetric& metric);

    void set_target(const Snap& target, const std::vector<Gate>& gates);
    /// In ds; `closed_ds` where the target cannot be reached. Amortised O(up arcs of new
    /// ancestors).
    std::uint32_t at(NodeId node);

private:
    const PreparedMetric* metric_;
    UpSearch<TimeAndSpread> search_;
    /// By rank: what is known; `unknown` where nobody asked.
    static constexpr std::uint32_t unknown = 0xffffffffU;
    std::vector<std::uint32_t> ds_;
    /// By rank: the least time that only falls from there; `closed_ds` off the targets' chains.
    std::vector<std::uint32_t> falling_ds_;
    std::vector<std::uint32_t> touched_;
    std::vector<std::uint32_t> pending_;
};

/// Hart, Nilsson, Raphael, IEEE Trans. SSC 4 (1968) 100-107, over labels; exact because waiting
/// never pays (a timetable's promise) and the potential never exceeds what is left. A node is taken
/// up again when a better label of the same time reaches it. One per thread; 40 bytes per node.
class GoalSearch {
public:
    explicit GoalSearch(const PreparedMetric& metric);

    struct Result {
        Label label;
        Way way;
    };
    /// None where there is no way.
    /// @param avoided one per piece: not to be used, not even in part; empty where all may be
    std::optional<Result> run(const Departure& departure, const Snap& target,
                              const std::vector<bool>& avoided = {});

private:
    struct NodeState {
        Label label;
        ArcId from;
        std::uint32_t entry = 0;
    };
    void reset();
    /// Back from the gate by which the best way ends.
    Way trace(const Departure& departure, const Snap& target, std::span<const Entry> from,
              const Gate& last) const;

    const PreparedMetric* metric_;
    Potential potential_;
    std::vector<NodeState> nodes_;
    std::vector<NodeId> touched_;
};

}  // namespace waybourne::routing
