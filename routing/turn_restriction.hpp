#pragma once
/// Ways that may not be taken although every road on them is open: turn restrictions.

#include <compare>
#include <cstdint>
#include <vector>

#include "routing/road_attributes.hpp"

namespace waybourne::routing {

/// One direction of a piece, by the number that `NetworkBuilder::add_piece` gave.
struct PieceDirection {
    std::uint32_t piece = 0;
    bool is_forward = true;
    auto operator<=>(const PieceDirection&) const = default;
};

/// No way of one of these means may run along these parts one directly after the other. Two parts
/// forbid a turn (or a U-turn: there and back along one piece); more forbid it only to those who
/// came along the first ones.
struct ForbiddenWay {
    std::vector<PieceDirection> parts;
    MeansSet means;
    bool operator==(const ForbiddenWay&) const = default;
};

/// Whoever of these means has come along the first part goes on along the others. Where several
/// required ways begin alike, along any of them. Turning back is going another way.
struct RequiredWay {
    std::vector<PieceDirection> parts;
    MeansSet means;
    bool operator==(const RequiredWay&) const = default;
};

}  // namespace waybourne::routing
