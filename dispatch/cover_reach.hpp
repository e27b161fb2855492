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
    /// A move must bring so large a share of the expected calls within reach to be told. Proposal.
    double least_gain = 0.01;
    /// So many moves are told at once. Proposal.
    std::size_t most_moves = 3;
};

/// Zone by vehicle, by their indices: mobilisation and the way there, by `allow`. Who cannot be
/// sent now reaches nobody. One one-to-many search per vehicle.
ReachTable reach_of(const DispatchSituation& situation, std::span<const GeoPoint> zones,
                    std::span<const Vehicle> vehicles, Seconds within);

/// Zone by base, one table per vehicle: the same, if the vehicle waited at that base. Empty tables
/// for those that cannot be sent now. One one-to-many search per base and means, where the roads
/// are remembered.
std::vector<ReachTable> reach_from_bases(const DispatchSituation& situation,
                                         std::span<const GeoPoint> zones,
                                         std::span<const Vehicle> vehicles,
                                         std::span<const Base> bases, Seconds within);

/// Every base of these vehicles once, in their order.
std::vector<Base> bases_of(std::span<const Vehicle> vehicles);

/// The indices of the vehicles that could be told to go at once.
std::vector<std::size_t> free_now(const DispatchSituation& situation,
                                  std::span<const Vehicle> vehicles);

}  // namespace waybourne::dispatch
