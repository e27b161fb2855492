#pragma once
/// What a place can do for her when she arrives there.

#include <span>
#include <vector>

#include "referral/situation.hpp"

namespace waybourne::referral {

/// How one need is met at one place.
struct Care {
    std::size_t need = 0;
    triage::Capability capability{};
    Instant begins{};
    facilities::Readiness readiness;

    bool is_confirmed() const { return readiness.state != facilities::ReadinessState::unconfirmed; }
};

/// The readiness of one capability for an arrival: called ahead where one can phone. A place that
/// accepted her on the phone is confirmed where it was unconfirmed; what is known not to be ready
/// stays so.
facilities::Readiness readiness_for(const Situation& situation, std::size_t place,
                                    triage::Capability capability, Instant arrival);

/// For each of the needs that can be met there, in their order: the capability that begins first;
/// of equally early ones a confirmed one, then the first in the order of capabilities. Needs that
/// would begin later than `unmet_after` are not met.
/// Complexity: one readiness per capability offered.
std::vector<Care> care_at(const Situation& situation, std::size_t place, Instant arrival,
                          std::span<const std::size_t> needs);

/// The latest arrival at which `care` still begins by `deadline`, `earliest` at the earliest; none
/// when even that is too late. Exact to the second: readiness never comes earlier for a later
/// arrival.
std::optional<Instant> latest_arrival(const Situation& situation, std::size_t place,
                                      const Care& care, Instant deadline, Instant earliest);

}  // namespace waybourne::referral
