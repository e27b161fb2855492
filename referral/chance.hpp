#pragma once
/// The chance that care begins in time, from the spread of the way and the confidence in the place.

#include "routing/travel_time.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::referral {

/// P(travel <= budget), the travel time being log-normal with median `typical` and 90th percentile
/// `allow` (design.md section 5). So 0.5 for a budget of `typical`, 0.9 for one of `allow`; 0 for a
/// budget of nothing or less, unless there is no way to go. Without spread: 0 or 1.
double chance_within(const routing::TravelTime& travel_time, Seconds budget);

/// Two ways one after the other: medians add, variances add, the whole is taken as log-normal
/// (design.md section 5, as for the arcs of one way). To the nearest second.
routing::TravelTime together(const routing::TravelTime& first, const routing::TravelTime& second);

}  // namespace waybourne::referral
