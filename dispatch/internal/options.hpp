#pragma once
/// What could be done for each woman, with its cost: what the assignment chooses from.

#include "dispatch/transport_plan.hpp"
#include "referral/plan.hpp"

namespace waybourne::dispatch {

/// The best plan of `referral/` for who leaves `from` then; none where no place can be reached. Its
/// readiness is without reasons.
std::optional<referral::Plan> best_plan(const DispatchSituation& situation,
                                        const OpenReferral& referral, routing::Means means,
                                        const routing::Snap& from, Instant leaves);

/// What it costs when nobody fetches her: every need as late as one that is never met.
Cost cost_of_waiting(const DispatchSituation& situation, const OpenReferral& referral);

struct Options {
    AssignmentProblem problem;
    /// One per option: the way where it is worked out already, as rendezvous are.
    std::vector<std::optional<Way>> ways;
};

Options options_of(const DispatchSituation& situation, const PlanRequest& request);

}  // namespace waybourne::dispatch
