#pragma once
/// The two ends of a trip: from a place onto the nodes, and from the nodes to a place.
///
/// Who stands at an end of a piece stands at the node, whatever the one-way says. Where turn
/// restrictions made copies, a trip starts with no past: on the original, or along an arc that
/// leaves an original. It may end on any copy, since how one comes to the place does not matter.

#include <optional>
#include <vector>

#include "routing/internal/way.hpp"

namespace waybourne::routing {

/// A way from the start onto a node.
struct Entry {
    NodeId node;
    std::uint32_t access = 0;
    /// None where the place lies at the node itself.
    std::optional<ArcPart> first;
    /// At the node.
    Label label;
};

/// All of them that are open, walking included.
std::vector<Entry> entries(const Metric& metric, const Departure& departure);

/// A way from a node to a place.
struct Gate {
    NodeId node;
    std::uint32_t access = 0;
    /// None where the place lies at the node itself.
    std::optional<ArcPart> last;
};

/// All of them that are open.
std::vector<Gate> gates(const Metric& metric, const Snap& target);

/// The label at the target, having come to the gate's node with `label`.
Label through(const Gate& gate, const Label& label, const Metric& metric, const Snap& target,
              Instant departure);

/// What the way from the gate's node to the target adds, without waiting.
TimeAndSpread gate_value(const Metric& metric, const Gate& gate, const Snap& target);

/// @param avoided one per piece: not to be used; empty where all may be
inline bool is_avoided(const RoadNetwork& network, const std::vector<bool>& avoided, ArcId arc) {
    return !avoided.empty() && avoided[network.piece_of(arc).value];
}

/// A way that never leaves the piece that both places lie on.
struct Direct {
    std::uint32_t start_access = 0;
    std::uint32_t target_access = 0;
    /// None where both are the same place.
    std::optional<ArcPart> part;
    Label label;
};

/// The best of them; none where there is none.
/// @param avoided as `is_avoided` wants them
std::optional<Direct> direct(const Metric& metric, const Departure& departure, const Snap& target,
                             const std::vector<bool>& avoided = {});

Way to_way(const Direct& direct, const Departure& departure, const Snap& target);

}  // namespace waybourne::routing
