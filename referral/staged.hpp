#pragma once
/// The plans to choose from: every single place, and every ordered pair of places.

#include "referral/rank.hpp"
#include "referral/ways.hpp"

namespace waybourne::referral {

/// One plan for each place that can be reached and meets a need.
std::vector<Plan> single_plans(const Situation& situation, Ways& ways);

/// The best plan for each ordered pair of places that earns its second stop against `mark`.
///
/// At the first place she waits until one of the needs it can meet has begun, stays for
/// `first_stop_stay` and goes on with what has begun by then; the rest is met at the second place.
/// Of the possible waits the one that is best by the figures of choice.hpp, without tolerance, is
/// the plan of the pair; of equally good ones the shorter. The second leg leaves at the `allow`
/// time, which is on the safe side: two 90th percentiles in a row come together less often than one
/// time in ten.
///
/// Exact: a first place is left out only when even a way onward of no length to a place that meets
/// the rest at once could not earn the second stop.
/// Complexity: one search per first place and wait that is not left out.
std::vector<Plan> staged_plans(const Situation& situation, Ways& ways,
                               std::span<const Plan> singles, const std::optional<Mark>& mark);

/// The same stops, all decided as `situation` says now (later than before, say); none where a way
/// or a need has gone.
std::optional<Plan> replanned(const Situation& situation, Ways& ways, const Plan& plan);

}  // namespace waybourne::referral
