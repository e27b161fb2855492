#include "routing/swept_metric.hpp"

#include "routing/internal/ends.hpp"

namespace waybourne::routing {

namespace {

/// @param is_backward every arc run the other way
std::vector<BothWays<Time>> times_of(const PreparedMetric& metric, bool is_backward) {
    std::vector<BothWays<Time>> times;
    times.reserve(metric.weights().size());
    for (const BothWays<TimeAndSpread>& both : metric.weights()) {
        const Time up{both.up.typical_ds()};
        const Time down{both.down.typical_ds()};
        times.push_back(is_backward ? BothWays<Time>{down, up} : BothWays<Time>{up, down});
    }
    return times;
}

}  // namespace

SweptMetric::SweptMetric(std::shared_ptr<const PreparedMetric> metric,
                         std::shared_ptr<const SweepOrder> order)
    : metric_(std::move(metric)),
      order_(order ? std::move(order) : std::make_shared<const SweepOrder>(metric_->hierarchy())),
      forward_(metric_->hierarchy(), times_of(*metric_, false), order_),
      backward_(metric_->hierarchy(), times_of(*metric_, true), order_) {}

void SweptMetric::from(const Snap& start, std::span<std::uint32_t> ds, unsigned threads) const {
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
    sweep_from(metric_->hierarchy(), forward_, starts, ds, threads);
}

void SweptMetric::to(const Snap& target, std::span<std::uint32_t> ds, unsigned threads) const {
    check_snap(metric().network(), target);
    std::vector<SweepStart> starts;
    for (const Gate& gate : gates(metric(), target)) {
        const TimeAndSpread value = gate_value(metric(), gate, target);
        if (value.is_open()) {
            starts.push_back({metric_->hierarchy().arrays().rank_of_node[gate.node.value],
                              value.typical_ds(), 0});
        }
    }
    sweep_from(metric_->hierarchy(), backward_, starts, ds, threads);
}

}  // namespace waybourne::routing
