#pragma once
/// When care begins, from when she arrives and when the place is ready: the one place where this is
/// worked out, for the choice of the place and for the planning of vehicles alike.

#include <algorithm>

#include "vocabulary/time.hpp"

namespace waybourne::referral {

/// The later of: she has been handed over, and the place is ready for her (design.md section 6).
/// @param handover from arrival until the receiving team has taken over
/// @param ready_by as `facilities::Readiness::ready_at`, asked for her arrival
constexpr Instant care_begins(Instant arrival, Seconds handover, Instant ready_by) {
    return std::max(arrival + handover, ready_by);
}

}  // namespace waybourne::referral
