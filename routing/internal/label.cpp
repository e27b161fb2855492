#include "routing/internal/label.hpp"

#include <algorithm>

namespace waybourne::routing {

namespace {

/// The first departure for somebody who is there that long after the trip started; none if never.
std::optional<std::uint32_t> sailing_ds(const Timetable& timetable, Instant departure,
                                        std::uint32_t there_ds) {
    const Instant there = departure + Seconds{(std::int64_t{there_ds} + 9) / 10};
    const auto leaves = timetable.next_departure(there);
    if (!leaves) {
        return std::nullopt;
    }
    const std::int64_t ds = (*leaves - departure).count() * 10;
    if (ds >= closed_ds) {
        return std::nullopt;
    }
    return static_cast<std::uint32_t>(ds);
}

/// When somebody who is there that long after the trip started may set out; none if never. By the
/// second that has begun, not by the next, so that a later arrival never sets out earlier.
std::optional<std::uint32_t> setting_out_ds(const Timetable& hours, Instant departure,
                                            std::uint32_t there_ds) {
    const Instant there = departure + Seconds{there_ds / 10};
    const auto opens = hours.next_departure(there);
    if (!opens) {
        return std::nullopt;
    }
    const std::int64_t ds = *opens == there ? there_ds : (*opens - departure).count() * 10;
    return ds < closed_ds ? std::optional(static_cast<std::uint32_t>(ds)) : std::nullopt;
}

}  // namespace

std::uint32_t Label::allowed_ds() const {
    return allowed_sailing_ds + allow_ds({typical_ds - typical_sailing_ds, variance_ds2});
}

std::uint32_t limit_in_ds(Seconds limit) {
    constexpr std::int64_t longest_ds = closed_ds - 1;
    return static_cast<std::uint32_t>(
        std::min(std::clamp<std::int64_t>(limit.count(), 0, longest_ds) * 10, longest_ds));
}

TimeAndSpread to_value(const Label& label) {
    return TimeAndSpread::of(label.typical_ds, static_cast<std::uint32_t>(std::min(
                                                   label.variance_ds2, greatest_variance_ds2)));
}

Label to_label(TimeAndSpread value) {
    return value.is_open() ? Label{value.typical_ds(), 0, value.variance_ds2(), 0} : Label{};
}

Label aboard(const Label& label, const Timetable& timetable, Instant departure) {
    const auto typical = sailing_ds(timetable, departure, label.typical_ds);
    const auto allowed = sailing_ds(timetable, departure, label.allowed_ds());
    if (!typical || !allowed) {
        return {};
    }
    return {*typical, *allowed, 0, *typical};
}

Label let_through(const Label& label, const Timetable& hours, Instant departure) {
    const auto typical = setting_out_ds(hours, departure, label.typical_ds);
    const auto allowed = setting_out_ds(hours, departure, label.allowed_ds());
    if (!typical || !allowed) {
        return {};
    }
    if (*typical == label.typical_ds && *allowed == label.allowed_ds()) {
        return label;
    }
    return {*typical, *allowed, 0, *typical};
}

Label across(const Label& label, const Metric& metric, ArcId arc, Instant departure) {
    const Timetable* const timetable = metric.timetable(arc);
    if (timetable == nullptr || !metric.is_open(arc)) {
        return extended(label, metric.weight(arc));
    }
    return extended(metric.network().piece(arc).is_ferry()
                        ? aboard(label, *timetable, departure)
                        : let_through(label, *timetable, departure),
                    metric.weight(arc));
}

}  // namespace waybourne::routing
