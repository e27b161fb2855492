#pragma once
/// One plan for all open referrals: who is carried by what, what changed, what it would cost to
/// decide otherwise. The objective stands in assignment.hpp.

#include <span>
#include <vector>

#include "dispatch/assignment.hpp"
#include "dispatch/way.hpp"

namespace waybourne::dispatch {

/// What has been told to people already.
struct Promise {
    ReferralId referral;
    /// Empty: her own transport.
    std::vector<VehicleId> vehicles = {};
    /// She is in it: never taken from her.
    bool is_aboard = false;
};

struct PlanRequest {
    std::span<const OpenReferral> referrals;
    std::span<const Vehicle> vehicles;
    std::vector<Promise> promises = {};
    /// How many promises may be changed at once. Proposal.
    std::size_t most_changed_promises = 2;
    /// What a dispatcher decides, whatever it costs.
    std::optional<Promise> decided = {};
    /// Whether `Carried::before` is wanted: one more route for each stretch.
    bool with_stretches = false;
};

struct Carried {
    ReferralId referral;
    Way way;
    /// Another woman in the same vehicle: the one fetched next, or before her where she is the
    /// last.
    std::optional<ReferralId> rides_with = {};
    /// Everybody in the same vehicle, in the order in which they are fetched; empty: she is alone.
    std::vector<ReferralId> tour = {};
    /// All that is driven on roads before the last stretch, those who are fetched before her
    /// included; empty unless the request wants it.
    std::vector<Stretch> before = {};
};

struct ChangedPromise {
    ReferralId referral;
    std::vector<VehicleId> was;
    std::vector<VehicleId> now;
    Message why;
};

struct TransportPlan {
    /// In the order of the request. Without a way that is possible she waits: `way.against` says
    /// why.
    std::vector<Carried> carried = {};
    std::vector<ChangedPromise> changed = {};
    Cost cost = 0;
    /// Of `decided`, more than the best plan; zero without one.
    Cost decision_costs_more = 0;
    bool is_optimal = false;
};

/// Women ride together only where all that they need is given at one place, in time for each. More
/// than two do on a tour of pick-ups, and only where no need of theirs is near its deadline.
/// A rendezvous takes part for who would be late by every single vehicle.
/// @throws InputError for a promise or a decision about who does not exist
/// Complexity: one one-to-many search per vehicle and per woman and means, then the assignment.
TransportPlan plan_transport(const DispatchSituation& situation, const PlanRequest& request);

}  // namespace waybourne::dispatch
