#pragma once
/// A stretch of one direction of a road.

#include <cstdint>

#include "routing/road_network.hpp"

namespace waybourne::routing {

/// An arc, or the part of it that is used, along its own direction.
struct ArcPart {
    ArcId arc;
    std::uint32_t from_cm = 0;
    std::uint32_t to_cm = 0;
    bool operator==(const ArcPart&) const = default;
};

}  // namespace waybourne::routing
