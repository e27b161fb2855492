#pragma once
/// The state of the roads that a travel time is computed under.

#include <cstdint>
#include <string>
#include <vector>

namespace waybourne::routing {

enum class Surface : std::uint8_t { dry, wet };
enum class Light : std::uint8_t { day, night };

/// One of the four sets of weights that are prepared in advance.
struct RoadConditions {
    Surface surface = Surface::dry;
    Light light = Light::day;
    bool operator==(const RoadConditions&) const = default;
};

}  // namespace waybourne::routing
