#include "routing/internal/ends.hpp"

#include "routing/internal/end_parts.hpp"

namespace waybourne::routing {

namespace {

Label walked(const Label& label, const Metric& metric, const Access& access) {
    return label.is_reached() ? extended(label, metric.off_road(access.off_road)) : label;
}

std::optional<Direct> direct(const Metric& metric, Instant at, const Access& from,
                             const Access& to) {
    const RoadNetwork& network = metric.network();
    if (network.original(from.piece) != network.original(to.piece)) {
        return std::nullopt;
    }
    Direct way{0, 0, std::nullopt, walked(Label::start(), metric, from)};
    if (to.along_cm != from.along_cm) {
        each_version(network, from.piece, [&](PieceId version) {
            const ArcPart part = part_between(network.piece(version), from.along_cm, to.along_cm);
            if (!way.part && metric.is_open(part.arc)) {
                way.part = part;
            }
        });
        if (!way.part) {
            return std::nullopt;
        }
        way.label = along(way.label, metric, *way.part, at);
    }
    way.label = walked(way.label, metric, to);
    return way.label.is_reached() ? std::optional(way) : std::nullopt;
}

}  // namespace

std::vector<Entry> entries(const Metric& metric, const Departure& departure) {
    const RoadNetwork& network = metric.network();
    std::vector<Entry> found;
    const auto& accesses = departure.from.accesses;
    for (std::uint32_t number = 0; number < accesses.size(); ++number) {
        const Access& access = accesses[number];
        const Label at_road = walked(Label::start(), metric, access);
        each_way_out(network, access, [&](NodeId node, const std::optional<ArcPart>& first) {
            if (first && !metric.is_open(first->arc)) {
                return;
            }
            const Label label = first ? along(at_road, metric, *first, departure.at) : at_road;
            if (label.is_reached()) {
                found.push_back({node, number, first, label});
            }
        });
    }
    return found;
}

std::vector<Gate> gates(const Metric& metric, const Snap& target) {
    const RoadNetwork& network = metric.network();
    std::vector<Gate> found;
    for (std::uint32_t number = 0; number < target.accesses.size(); ++number) {
        each_way_in(network, target.accesses[number],
                    [&](NodeId node, const std::optional<ArcPart>& last) {
                        if (!last || metric.is_open(last->arc)) {
                            found.push_back({node, number, last});
                        }
                    });
    }
    return found;
}

Label through(const Gate& gate, const Label& label, const Metric& metric, const Snap& target,
              Instant departure) {
    const Label at_road = gate.last ? along(label, metric, *gate.last, departure) : label;
    return walked(at_road, metric, target.accesses[gate.access]);
}

TimeAndSpread gate_value(const Metric& metric, const Gate& gate, const Snap& target) {
    Label label = Label::start();
    if (gate.last) {
        label =
            extended(label, metric.weight(gate.last->arc, gate.last->from_cm, gate.last->to_cm));
    }
    label = extended(label, metric.off_road(target.accesses[gate.access].off_road));
    return label.is_reached() ? to_value(label) : TimeAndSpread::closed();
}

std::optional<Direct> direct(const Metric& metric, const Departure& departure, const Snap& target,
                             const std::vector<bool>& avoided) {
    const auto may_be_used = [&](const Direct& way) {
        return !way.part || !is_avoided(metric.network(), avoided, way.part->arc);
    };
    std::optional<Direct> best;
    const auto& starts = departure.from.accesses;
    for (std::uint32_t start = 0; start < starts.size(); ++start) {
        for (std::uint32_t end = 0; end < target.accesses.size(); ++end) {
            auto way = direct(metric, departure.at, starts[start], target.accesses[end]);
            if (way && may_be_used(*way) && (!best || way->label < best->label)) {
                way->start_access = start;
                way->target_access = end;
                best = way;
            }
        }
    }
    return best;
}

Way to_way(const Direct& direct, const Departure& departure, const Snap& target) {
    Way way{
        departure.from.accesses[direct.start_access], {}, target.accesses[direct.target_access]};
    if (direct.part) {
        way.parts.push_back(*direct.part);
    }
    return way;
}

}  // namespace waybourne::routing
