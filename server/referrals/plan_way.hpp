#pragma once
/// The way to the place that is asked, from a recommendation.

#include "server/answer.hpp"
#include "server/referrals/record.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// The plan that leads to `to` first, as the answer has it, or the way alone where it has none.
/// @throws InputError, NotFound, Unavailable as `answer_route` does
PlannedWay plan_way(const Snapshot& snapshot, const RecommendationRequest& request,
                    const Answer& answer, const FacilityId& to, Instant now);

/// The way that a dispatcher's plan leads her, which is possible.
/// @param means of the last stretch
PlannedWay way_of_transport(const Snapshot& snapshot, const triage::Assessment& assessment,
                            const dispatch::Way& transport, routing::Means means, Instant now);

/// The note that goes with her to the place that is asked, also when another one was recommended.
std::string note_to(const Snapshot& snapshot, const RecommendationRequest& request,
                    const Answer& answer, const PlannedWay& way, const std::string& code);

}  // namespace waybourne::server
