#pragma once
/// A referral as HL7 FHIR R4 (4.0.1, hl7.org/fhir/R4), and its task as another system changes it.
/// docs/fhir.md says what becomes what.

#include <optional>
#include <string>
#include <string_view>

#include "server/json/referral.hpp"
#include "server/problem.hpp"

namespace waybourne::server {

inline constexpr const char* fhir_content_type = "application/fhir+json";

/// A Bundle (collection): ServiceRequest, Task, Patient without a name, Encounter, Observations,
/// and an Organization and a Location for each place. What is not known is left out. Observations
/// are shown to those who give her care.
std::string render_fhir_bundle(const ReferralView& view);

/// The Task alone.
std::string render_fhir_task(const ReferralView& view);

/// What a changed Task tells; none when it says nothing new. What only we decide must stand in it
/// as we gave it, or not at all.
/// @param ours the Task as we show it now
/// @throws InputError with the pointer of everything that cannot be understood
std::optional<ToldEvent> parse_fhir_task(std::string_view json, std::string_view ours, Instant now);

/// A problem as an OperationOutcome.
std::string render_fhir_outcome(const Problem& problem);

}  // namespace waybourne::server
