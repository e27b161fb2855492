#pragma once
/// A river as a map draws it. Nobody travels on it: where boats go is said by boat_ways.hpp.

#include <string>
#include <vector>

#include "routing/road_network.hpp"

namespace waybourne::routing {

struct River {
    /// May be empty.
    std::string name;
    /// Two points or more, one after the other.
    std::vector<FixedPoint> line;
    bool operator==(const River&) const = default;
};

}  // namespace waybourne::routing
