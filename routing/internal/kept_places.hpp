#pragma once
/// What a PlaceIndex keeps.

#include <map>

#include "routing/buckets.hpp"
#include "routing/internal/ends.hpp"
#include "routing/place_index.hpp"

namespace waybourne::routing {

struct PlaceIndex::Kept {
    Buckets<TimeAndSpread> buckets;
    /// By piece, never a copy: a way that never leaves the piece passes no bucket.
    std::multimap<PieceId, std::uint32_t> places_on;
};

/// A label without a clock as a value of the hierarchy.
TimeAndSpread to_value(const Label& label);
/// The label that stands for a value that was added up without a clock.
Label to_label(TimeAndSpread value);

/// What the way from the gate's node to the target adds, without waiting.
TimeAndSpread gate_value(const Metric& metric, const Gate& gate, const Snap& target);

/// @throws InputError if the snap is not of this network
void check_snap(const RoadNetwork& network, const Snap& snap);

}  // namespace waybourne::routing
