#pragma once
/// What is open when a dispatcher's shift ends, as a list that can be signed: what the next one
/// must know, and of a woman no more than what she needs.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "dispatch/vehicle.hpp"
#include "referral/watch.hpp"
#include "server/referrals/record.hpp"
#include "server/referrals/standing_alerts.hpp"
#include "server/snapshot.hpp"
#include "server/vehicles.hpp"

namespace waybourne::server {

/// Changes only when something happens: neither the time that is left nor the age of a position
/// stands in it, so that what was read is still what is signed a few minutes later.
struct ShiftList {
    struct Need {
        triage::CapabilitySet any_of;
        bool critical = false;
        std::optional<Instant> deadline = {};
        bool operator==(const Need&) const = default;
    };
    struct Alert {
        std::string id;
        /// As `StandingAlert::what`.
        std::string what;
        Instant due{};
        std::optional<Instant> acknowledged_at = {};
        bool operator==(const Alert&) const = default;
    };
    struct Woman {
        std::string code;
        referral::State state{};
        std::optional<FacilityId> sender = {};
        /// The place that is asked now.
        std::optional<FacilityId> asked = {};
        /// Her earliest one; none: not known.
        std::optional<Instant> deadline = {};
        std::vector<Need> needs = {};
        /// What has been promised to her; empty: nothing, or her own transport.
        std::vector<VehicleId> vehicles = {};
        /// A dispatcher decided that nobody carries her for now.
        bool waits = false;
        /// When a vehicle should be with her, and she at the place, at the latest.
        std::optional<Instant> with_her_by = {};
        std::optional<Instant> expected_by = {};
        std::vector<Alert> alerts = {};
        bool operator==(const Woman&) const = default;
    };
    struct VehicleLine {
        VehicleId id;
        std::string name;
        /// Why it cannot be sent; none: it is free.
        std::optional<dispatch::Hold> hold = {};
        std::optional<Instant> until = {};
        /// The open referral that it has been sent for.
        std::optional<std::string> code = {};
        bool operator==(const VehicleLine&) const = default;
    };
    /// The earliest deadline first, those without one last, then by code: every open referral of a
    /// woman who has not been handed over, and whoever else has an alert that nobody took on.
    std::vector<Woman> women = {};
    /// In the order of the district's file.
    std::vector<VehicleLine> vehicles = {};
    bool operator==(const ShiftList&) const = default;
};

/// @param live of one world: all practice or none
ShiftList shift_list(const Snapshot& snapshot,
                     std::span<const std::shared_ptr<const ReferralRecord>> live,
                     const VehicleReports& reports, Instant now);

/// The open referral that each vehicle has been sent for, the one that takes a woman over included.
/// Practice cases send no vehicle.
std::map<VehicleId, std::string> referrals_by_vehicle(
    std::span<const std::shared_ptr<const ReferralRecord>> live);

}  // namespace waybourne::server
