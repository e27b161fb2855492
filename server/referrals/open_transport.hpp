#pragma once
/// The open referrals as transport is planned for them: who waits for a plan, who is on her way
/// already, and which vehicles that leaves.

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "dispatch/transport_plan.hpp"
#include "server/referrals/record.hpp"
#include "server/snapshot.hpp"
#include "server/vehicles.hpp"

namespace waybourne::server {

enum class Planning {
    planned,    ///< she takes part in the plan
    under_way,  ///< she is being fetched or brought, and nothing speaks against it
    none,       ///< there is nothing to plan; `why` says it
};

/// An open referral of a woman who has not been handed over yet.
struct OpenWoman {
    std::shared_ptr<const ReferralRecord> record;
    /// None once what was found is no longer kept.
    std::optional<triage::Assessment> assessment = {};
    Planning planning = Planning::none;
    /// What has been accepted for her, or told her vehicle, last; empty: nothing, or her own.
    std::vector<VehicleId> vehicles = {};
    /// Where she is, as far as it is known.
    std::optional<GeoPoint> at = {};
    std::vector<Message> why = {};
};

struct OpenTransport {
    /// Those with the earliest deadline first, those without one last, then by code.
    std::vector<OpenWoman> women = {};
    /// Of the planned ones, in that order; their ids are the referrals' codes.
    std::vector<dispatch::OpenReferral> referrals = {};
    /// What has been accepted for them before.
    std::vector<dispatch::Promise> promises = {};
    /// As they are known now; one that is with a woman is on a trip until she is handed over.
    std::vector<dispatch::Vehicle> vehicles = {};
};

/// A woman who is in a vehicle, or whom it has reached, is not planned for again, unless that
/// vehicle has broken down, has no fuel, is under repair or was taken: then from where she is, with
/// the deadlines she had.
/// @param live open referrals, of one world: all practice or none
OpenTransport open_transport(const Snapshot& snapshot,
                             std::span<const std::shared_ptr<const ReferralRecord>> live,
                             const VehicleReports& reports, Instant now);

}  // namespace waybourne::server
