#include "routing/internal/ends.hpp"

namespace waybourne::routing {

namespace {

Label walked(const Label& label, const Metric& metric, const Access& access) {
    return label.is_reached() ? extended(label, metric.off_road(access.off_road)) : label;
}

std::optional<Direct> direct(const Metric& metric, Instant at, const Access& from,
                             const Access& to) {
    if (from.piece != to.piece) {
        return std::nullopt;
    }
    const Piece& piece = metric.network().piece(from.piece);
    Direct way{0, 0, std::nullopt, walked(Label::start(), metric, from)};
    if (to.along_cm != from.along_cm) {
        way.part = to.along_cm > from.along_cm
                       ? ArcPart{piece.forward, from.along_cm, to.along_cm}
                       : ArcPart{piece.backward, piece.length_cm - from.along_cm,
                                 piece.length_cm - to.along_cm};
        if (!metric.is_open(way.part->arc)) {
            return std::nullopt;
        }
        way.label = along(way.label, metric, *way.part, at);
    }
    way.label = walked(way.label, metric, to);
    return way.label.is_reached() ? std::optional(way) : std::nullopt;
}

}  // namespace

std::array<Stub, 2> stubs_from(const Piece& piece, const Access& access) {
    const std::uint32_t back_cm = piece.length_cm - access.along_cm;
    std::array<Stub, 2> stubs{Stub{piece.from, std::nullopt}, Stub{piece.to, std::nullopt}};
    if (access.along_cm > 0) {
        stubs[0].part = ArcPart{piece.backward, back_cm, piece.length_cm};
    }
    if (back_cm > 0) {
        stubs[1].part = ArcPart{piece.forward, access.along_cm, piece.length_cm};
    }
    return stubs;
}

std::array<Stub, 2> stubs_to(const Piece& piece, const Access& access) {
    const std::uint32_t back_cm = piece.length_cm - access.along_cm;
    std::array<Stub, 2> stubs{Stub{piece.from, std::nullopt}, Stub{piece.to, std::nullopt}};
    if (access.along_cm > 0) {
        stubs[0].part = ArcPart{piece.forward, 0, access.along_cm};
    }
    if (back_cm > 0) {
        stubs[1].part = ArcPart{piece.backward, 0, back_cm};
    }
    return stubs;
}

std::vector<Entry> entries(const Metric& metric, const Departure& departure) {
    std::vector<Entry> found;
    const auto& accesses = departure.from.accesses;
    for (std::uint32_t number = 0; number < accesses.size(); ++number) {
        const Access& access = accesses[number];
        const Label at_road = walked(Label::start(), metric, access);
        for (const Stub& stub : stubs_from(metric.network().piece(access.piece), access)) {
            if (stub.part && !metric.is_open(stub.part->arc)) {
                continue;
            }
            const Label label =
                stub.part ? along(at_road, metric, *stub.part, departure.at) : at_road;
            if (label.is_reached()) {
                found.push_back({stub.node, number, stub.part, label});
            }
        }
    }
    return found;
}

std::vector<Gate> gates(const Metric& metric, const Snap& target) {
    std::vector<Gate> found;
    for (std::uint32_t number = 0; number < target.accesses.size(); ++number) {
        const Access& access = target.accesses[number];
        for (const Stub& stub : stubs_to(metric.network().piece(access.piece), access)) {
            if (!stub.part || metric.is_open(stub.part->arc)) {
                found.push_back({stub.node, number, stub.part});
            }
        }
    }
    return found;
}

Label through(const Gate& gate, const Label& label, const Metric& metric, const Snap& target,
              Instant departure) {
    const Label at_road = gate.last ? along(label, metric, *gate.last, departure) : label;
    return walked(at_road, metric, target.accesses[gate.access]);
}

std::optional<Direct> direct(const Metric& metric, const Departure& departure, const Snap& target) {
    std::optional<Direct> best;
    const auto& starts = departure.from.accesses;
    for (std::uint32_t start = 0; start < starts.size(); ++start) {
        for (std::uint32_t end = 0; end < target.accesses.size(); ++end) {
            auto way = direct(metric, departure.at, starts[start], target.accesses[end]);
            if (way && (!best || way->label < best->label)) {
                way->start_access = start;
                way->target_access = end;
                best = way;
            }
        }
    }
    return best;
}

}  // namespace waybourne::routing
