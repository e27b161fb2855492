#pragma once
/// The way to the place that is asked, from a recommendation.

#include "server/referrals/record.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// The plan that leads to `to` first, as the recommendation has it, or the way alone where the
/// recommendation has none.
/// @param sequence of the journal that the snapshot knows
/// @throws InputError, NotFound, Unavailable as `answer_recommendation` does
PlannedWay plan_way(const Snapshot& snapshot, const RecommendationRequest& request,
                    const FacilityId& to, Instant now, journal::Sequence sequence);

}  // namespace waybourne::server
