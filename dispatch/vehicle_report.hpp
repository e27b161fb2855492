#pragma once
/// What is heard of a vehicle while it works: where it is, and whether it can be sent.

#include <optional>
#include <string>

#include "dispatch/vehicle.hpp"

namespace waybourne::dispatch {

/// Whether it can be sent, as somebody said it.
struct VehicleState {
    /// None: it is free.
    std::optional<Hold> hold = {};
    /// Of a hold: when it is expected back; none: until somebody says that it is free. Of a vehicle
    /// that is free: until when somebody drives it, whatever its shift says; none: its shift holds.
    std::optional<Instant> until = {};
    Instant said_at{};
    /// The role that said it.
    std::string by = {};
    bool operator==(const VehicleState&) const = default;
};

/// What is known of one vehicle besides its file. Both are empty while nothing has been said.
struct VehicleReport {
    std::optional<Position> position = {};
    std::optional<VehicleState> state = {};
    bool operator==(const VehicleReport&) const = default;
};

/// Of each part the newer one, whatever order they come in; of equally old ones that of `next`.
VehicleReport with_news(VehicleReport known, const VehicleReport& next);

/// The vehicle as it is known now: what was reported stands in place of what its file says.
Vehicle with_report(Vehicle vehicle, const VehicleReport& report);

}  // namespace waybourne::dispatch
