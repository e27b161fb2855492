#pragma once
/// Which vehicles would be with a woman in time if the next call came now.

#include <span>
#include <vector>

#include "dispatch/cover.hpp"
#include "dispatch/way.hpp"

namespace waybourne::dispatch {

/// The figures of the cover that is shown to dispatchers.
struct CoverSettings {
    /// From the call until a vehicle is there, by `allow`. Proposal.
    Seconds within = 60min;
    /// How long one trip takes a vehicle away. Common practice, no source.
    Seconds mission = 2h;
};

/// Zone by vehicle, by their indices: mobilisation and the way there, by `allow`. Who cannot be
/// sent now reaches nobody. One one-to-many search per vehicle.
ReachTable reach_of(const DispatchSituation& situation, std::span<const GeoPoint> zones,
                    std::span<const Vehicle> vehicles, Seconds within);

/// The indices of the vehicles that could be told to go at once.
std::vector<std::size_t> free_now(const DispatchSituation& situation,
                                  std::span<const Vehicle> vehicles);

}  // namespace waybourne::dispatch
