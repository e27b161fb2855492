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

}  // namespace

std::uint32_t Label::allowed_ds() const {
    return allowed_sailing_ds + allow_ds({typical_ds - typical_sailing_ds, variance_ds2});
}

Label aboard(const Label& label, const Timetable& timetable, Instant departure) {
    const auto typical = sailing_ds(timetable, departure, label.typical_ds);
    const auto allowed = sailing_ds(timetable, departure, label.allowed_ds());
    if (!typical || !allowed) {
        return {};
    }
    return {*typical, *allowed, 0, *typical};
}

Label across(const Label& label, const Metric& metric, ArcId arc, Instant departure) {
    const RoadNetwork& network = metric.network();
    const Piece& piece = network.piece(arc);
    if (!piece.is_ferry() || !metric.is_open(arc)) {
        return extended(label, metric.weight(arc));
    }
    const auto& timetable = network.ferries()[piece.ferry].timetable;
    return timetable ? extended(aboard(label, *timetable, departure), metric.weight(arc))
                     : extended(label, metric.weight(arc));
}

}  // namespace waybourne::routing
