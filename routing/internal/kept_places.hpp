#pragma once
/// What a PlaceIndex keeps.

#include <map>

#include "routing/buckets.hpp"
#include "routing/place_index.hpp"

namespace waybourne::routing {

struct PlaceIndex::Kept {
    Buckets<TimeAndSpread> buckets;
    /// By piece, never a copy: a way that never leaves the piece passes no bucket.
    std::multimap<PieceId, std::uint32_t> places_on;
};

}  // namespace waybourne::routing
