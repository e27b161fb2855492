#pragma once
/// Who can give it, at what time, and why the others cannot.

#include <vector>

#include "facilities/readiness.hpp"
#include "facilities/register.hpp"

namespace waybourne::facilities {

/// The readiness of `capability` at `facility` for a woman who arrives at `arrival`, judged with
/// what is known at `now`: reports from later than `now` are left aside. `ready_at` never falls as
/// `arrival` grows. A facility that does not offer the service is `not_ready` with that reason.
/// `called_ahead_at`: a team on call is called then (its lead time runs from there); none: on
/// arrival.
///
/// Each thing the service rests on (its hours, each resource, or the service itself when it names
/// no resource) is judged by the newest report about it or, when that is newer, by a `ready` about
/// the capability. Care can begin at the first moment from arrival on at which all of them hold. A
/// report is too old when its age at that moment exceeds the shelf life of its kind; one that says
/// "not ready" stops counting when its age at `now` does. What lies more than 60 days after `now`
/// counts as no time known. The chance is the product over the things
/// it rests on, taken as independent (an assumption).
///
/// About a microsecond for a service with three needs. Any number of threads.
/// @throws NotFound for a facility that is not in the register
Readiness readiness(const FacilityRegister& facilities, const FacilityId& facility,
                    triage::Capability capability, Instant arrival, Instant now,
                    std::optional<Instant> called_ahead_at = std::nullopt);

/// Whether an answer says why. Where many are only compared, the words would take longer than the
/// answers.
enum class Reasons { told, left_out };

/// A woman's arrival as `readiness` asks about it.
struct Arrival {
    Instant at;
    Instant now;
    std::optional<Instant> called_ahead_at = std::nullopt;
    /// Left out: all else is the same.
    Reasons reasons = Reasons::told;
};

/// The same, by the facility's position in `facilities.facilities()`: saves the search by id.
Readiness readiness_at(const FacilityRegister& facilities, std::size_t position,
                       triage::Capability capability, const Arrival& arrival);

}  // namespace waybourne::facilities
