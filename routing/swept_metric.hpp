#pragma once
/// A prepared metric laid out for passes over the whole network.

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "routing/prepared_metric.hpp"
#include "routing/snap.hpp"
#include "routing/sweep.hpp"

namespace waybourne::routing {

/// Immutable; share it between threads. 16 bytes per up arc. Making one costs a few passes: keep it
/// as long as the metric counts.
///
/// Times are typical ones in ds, without waiting: exact where the metric has no timetables
/// (`Metric::has_waits`), else never more than the truth. `closed_ds` where there is no way. They
/// are given by rank (`Hierarchy`); where turn restrictions made copies of a node, each has its
/// own.
class SweptMetric {
public:
    /// @param order of the metric's hierarchy; its own if none
    explicit SweptMetric(std::shared_ptr<const PreparedMetric> metric,
                         std::shared_ptr<const SweepOrder> order = nullptr);

    const PreparedMetric& prepared() const { return *metric_; }
    const Metric& metric() const { return metric_->metric(); }
    const SweepArcs& arcs() const { return arcs_; }

    /// Of two vehicles that may meet anywhere: under `first` from her, under `second` from where it
    /// stands, and under `second` to the place, in one pass (`sweep_together`).
    /// @param first,second of one hierarchy
    /// @param ds `together_stride` per rank; overwritten
    /// @throws InputError if a snap is not of this network
    static void meet(const SweptMetric& first, const Snap& her, const SweptMetric& second,
                     const Snap& second_from, const Snap& place, std::span<std::uint32_t> ds);

private:
    std::vector<SweepStart> starts_from(const Snap& start) const;
    std::vector<SweepStart> starts_to(const Snap& target) const;

    std::shared_ptr<const PreparedMetric> metric_;
    SweepArcs arcs_;
};

}  // namespace waybourne::routing
