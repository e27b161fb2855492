#include "routing/swept_metric.hpp"

#include <array>

#include "routing/internal/ends.hpp"

namespace waybourne::routing {

namespace {

std::vector<BothWays<Time>> times_of(const PreparedMetric& metric) {
    std::vector<BothWays<Time>> times;
    times.reserve(metric.weights().size());
    for (const BothWays<TimeAndSpread>& both : metric.weights()) {
        times.push_back({Time{both.up.typical_ds()}, Time{both.down.typical_ds()}});
    }
    return times;
}

}  // namespace

SweptMetric::SweptMetric(std::shared_ptr<const PreparedMetric> metric,
                         std::shared_ptr<const SweepOrder> order)
    : metric_(std::move(metric)),
      arcs_(metric_->hierarchy(), times_of(*metric_), std::move(order)) {}

std::vector<SweepStart> SweptMetric::starts_from(const Snap& start) const {
    check_snap(metric().network(), start);
    std::vector<SweepStart> starts;
    for (const Entry& entry : entries(metric(), {start, Instant{}})) {
        // without waiting: the first stretch may have a timetable of its own
        Label label = Label::start();
        if (entry.first) {
            label = extended(
                label, metric().weight(entry.first->arc, entry.first->from_cm, entry.first->to_cm));
        }
        label = extended(label, metric().off_road(start.accesses[entry.access].off_road));
        if (label.is_reached()) {
            starts.push_back({metric_->hierarchy().arrays().rank_of_node[entry.node.value],
                              label.typical_ds, 0});
        }
    }
    return starts;
}

std::vector<SweepStart> SweptMetric::starts_to(const Snap& target) const {
    check_snap(metric().network(), target);
    std::vector<SweepStart> starts;
    for (const Gate& gate : gates(metric(), target)) {
        const TimeAndSpread value = gate_value(metric(), gate, target);
        if (value.is_open()) {
            starts.push_back({metric_->hierarchy().arrays().rank_of_node[gate.node.value],
                              value.typical_ds(), 0});
        }
    }
    return starts;
}

void SweptMetric::meet(const SweptMetric& first, const Snap& her, const SweptMetric& second,
                       const Snap& second_from, const Snap& place, std::span<std::uint32_t> ds) {
    const std::vector<SweepStart> hers = first.starts_from(her);
    const std::vector<SweepStart> theirs = second.starts_from(second_from);
    const std::vector<SweepStart> places = second.starts_to(place);
    const std::array sweeps{TogetherSweep{first.arcs_, false, hers},
                            TogetherSweep{second.arcs_, false, theirs},
                            TogetherSweep{second.arcs_, true, places}};
    sweep_together(first.metric_->hierarchy(), sweeps, ds);
}

}  // namespace waybourne::routing
