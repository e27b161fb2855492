#pragma once
/// What is driven before the last stretch of a way.

#include "dispatch/transport_plan.hpp"

namespace waybourne::dispatch {

/// The lines that were planned with: each vehicle's way to her, over those whom it fetches before
/// her, and of a rendezvous the ways of both to where they meet. Without boats, which no road
/// change concerns, and without what stands there already.
/// Complexity: one route for each stretch.
std::vector<Stretch> stretches_before(const DispatchSituation& situation,
                                      const PlanRequest& request, const Carried& carried);

}  // namespace waybourne::dispatch
