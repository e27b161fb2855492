#pragma once
/// What the vehicles left would still reach, where they should wait, and who should move up: shown
/// to a dispatcher before anything is sent.

#include <algorithm>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "dispatch/cover_reach.hpp"
#include "dispatch/move_up.hpp"
#include "dispatch/transport_plan.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// Whether a way or a promise takes the vehicle.
template <typename Taking>
bool takes(const Taking& taking, const VehicleId& id) {
    return std::find(taking.vehicles.begin(), taking.vehicles.end(), id) != taking.vehicles.end();
}

/// Indices are those of the vehicles that it was asked for.
struct CoverAnswer {
    dispatch::CoverReport report;
    std::vector<dispatch::Base> bases = {};
    /// After the plan; each with the share of calls reached once it and those before are made.
    struct Wait {
        dispatch::Move move;
        double share_after = 0;
    };
    std::vector<Wait> waits = {};
    struct MoveUp {
        dispatch::MoveUp what;
        double share_before = 0;
        double share_after = 0;
    };
    std::vector<MoveUp> move_ups = {};
    /// Among those left after the plan.
    struct Last {
        std::size_t vehicle = 0;
        /// By name, those with most births first.
        std::vector<std::string> areas = {};
    };
    std::vector<Last> lasts = {};
};

/// @param promised what has been told to people before: these vehicles are not idle
/// @param carried the plan: who is newly sent leaves
/// @return none where the district's settlements are not known, or there is no vehicle
std::optional<CoverAnswer> find_cover(const Snapshot& snapshot,
                                      const dispatch::DispatchSituation& situation,
                                      std::span<const dispatch::Vehicle> vehicles,
                                      std::span<const dispatch::Promise> promised,
                                      std::span<const dispatch::Carried> carried);

/// One sentence for each of `waits`, `move_ups` and `lasts`.
Message message_of(const CoverAnswer::Wait& wait, const CoverAnswer& cover,
                   const Snapshot& snapshot, std::span<const dispatch::Vehicle> vehicles);
Message message_of(const CoverAnswer::MoveUp& move_up, const CoverAnswer& cover,
                   const Snapshot& snapshot, std::span<const dispatch::Vehicle> vehicles);
Message message_of(const CoverAnswer::Last& last, std::span<const dispatch::Vehicle> vehicles);

/// The facility's name; of another point its coordinates.
std::string name_of(const dispatch::Base& base, const Snapshot& snapshot);

}  // namespace waybourne::server
