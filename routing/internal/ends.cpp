#include "routing/internal/ends.hpp"

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
            const Piece& piece = network.piece(version);
            const ArcPart part = to.along_cm > from.along_cm
                                     ? ArcPart{piece.forward, from.along_cm, to.along_cm}
                                     : ArcPart{piece.backward, piece.length_cm - from.along_cm,
                                               piece.length_cm - to.along_cm};
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
        const auto add = [&](NodeId node, std::optional<ArcPart> first) {
            const Label label = first ? along(at_road, metric, *first, departure.at) : at_road;
            if (label.is_reached()) {
                found.push_back({node, number, first, label});
            }
        };
        const Piece& stretch = network.piece(access.piece);
        const std::uint32_t back_cm = stretch.length_cm - access.along_cm;
        if (access.along_cm == 0) {
            add(network.original(stretch.from), std::nullopt);
        }
        if (back_cm == 0) {
            add(network.original(stretch.to), std::nullopt);
        }
        each_version(network, access.piece, [&](PieceId version) {
            const Piece& piece = network.piece(version);
            const bool leaves_to = network.original(piece.to) == piece.to;
            const bool leaves_from = network.original(piece.from) == piece.from;
            if (access.along_cm > 0 && leaves_to && metric.is_open(piece.backward)) {
                add(piece.from, ArcPart{piece.backward, back_cm, piece.length_cm});
            }
            if (back_cm > 0 && leaves_from && metric.is_open(piece.forward)) {
                add(piece.to, ArcPart{piece.forward, access.along_cm, piece.length_cm});
            }
        });
    }
    return found;
}

std::vector<Gate> gates(const Metric& metric, const Snap& target) {
    const RoadNetwork& network = metric.network();
    std::vector<Gate> found;
    for (std::uint32_t number = 0; number < target.accesses.size(); ++number) {
        const Access& access = target.accesses[number];
        const auto add_node = [&](NodeId node) {
            const NodeId original = network.original(node);
            found.push_back({original, number, std::nullopt});
            for (const NodeCopy& pair : network.copies(original)) {
                found.push_back({pair.copy, number, std::nullopt});
            }
        };
        const Piece& stretch = network.piece(access.piece);
        const std::uint32_t back_cm = stretch.length_cm - access.along_cm;
        if (access.along_cm == 0) {
            add_node(stretch.from);
        }
        if (back_cm == 0) {
            add_node(stretch.to);
        }
        each_version(network, access.piece, [&](PieceId version) {
            const Piece& piece = network.piece(version);
            if (access.along_cm > 0 && metric.is_open(piece.forward)) {
                found.push_back({piece.from, number, ArcPart{piece.forward, 0, access.along_cm}});
            }
            if (back_cm > 0 && metric.is_open(piece.backward)) {
                found.push_back({piece.to, number, ArcPart{piece.backward, 0, back_cm}});
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
