#pragma once
/// What the map says about a road, as far as it matters for how fast and by whom it can be used.

#include <cstdint>

#include "routing/road_kind.hpp"
#include "routing/route.hpp"

namespace waybourne::routing {

/// A set of means of transport, e.g. those that may use one direction of a road.
class MeansSet {
public:
    constexpr MeansSet() = default;
    constexpr explicit MeansSet(std::uint8_t bits) : bits_(bits) {}
    static constexpr MeansSet all() { return MeansSet{0b111111}; }
    constexpr bool has(Means means) const {
        return (bits_ >> static_cast<unsigned>(means) & 1U) != 0;
    }
    constexpr MeansSet with(Means means) const {
        return MeansSet{static_cast<std::uint8_t>(bits_ | 1U << static_cast<unsigned>(means))};
    }
    constexpr MeansSet without(Means means) const {
        return MeansSet{static_cast<std::uint8_t>(bits_ & ~(1U << static_cast<unsigned>(means)))};
    }
    constexpr bool is_empty() const { return bits_ == 0; }
    constexpr std::uint8_t bits() const { return bits_; }
    constexpr bool operator==(const MeansSet&) const = default;

private:
    std::uint8_t bits_ = 0;
};

/// Roads that agree in all of this share one entry of the network, so there are few of them.
struct RoadAttributes {
    RoadKind kind;
    bool is_ford = false;
    bool is_bridge = false;
    bool is_tunnel = false;
    bool is_toll = false;
    /// Closed in the wet season, as the map says (`seasonal=*`, `intermittent=*`).
    bool is_seasonal = false;
    /// Open in the wet season only (`seasonal=wet_season`).
    bool is_wet_season_only = false;
    /// Not from the map, see closure.hpp.
    bool is_temporary_link = false;
    bool operator==(const RoadAttributes&) const = default;
};

}  // namespace waybourne::routing
