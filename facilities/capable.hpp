#pragma once
/// Who can give it, at what time, and why the others cannot.

#include "facilities/readiness.hpp"
#include "facilities/register.hpp"

namespace waybourne::facilities {

/// The readiness of `capability` at `facility` for a woman who arrives at `arrival`, judged with
/// what is known at `now`. `ready_at` never falls as `arrival` grows. A facility that does not
/// offer the service is `not_ready` with that reason. `called_ahead_at`: a team on call is called
/// then (its lead time runs from there); none: on arrival.
/// @throws NotFound for a facility that is not in the register
Readiness readiness(const FacilityRegister& facilities, const FacilityId& facility,
                    triage::Capability capability, Instant arrival, Instant now,
                    std::optional<Instant> called_ahead_at = std::nullopt);

}  // namespace waybourne::facilities
