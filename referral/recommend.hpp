#pragma once
/// The choice of the place: assessment, readiness and ways in, recommendation out.

#include <map>
#include <span>

#include "facilities/register.hpp"
#include "referral/choice.hpp"
#include "referral/recommendation.hpp"
#include "routing/router.hpp"
#include "triage/assessment.hpp"

namespace waybourne::referral {

/// What the health worker's own phone call brought.
enum class CallAnswer { accepted, refused, no_answer };

/// Where she is and what can carry her.
struct Start {
    routing::Snap from;
    /// The facility she is at, when she is at one: never recommended as a place to go.
    std::optional<FacilityId> at_facility;
    routing::Means means = routing::Means::car;
    /// From now until she leaves. None: the assumed delay of the settings, said as a remark.
    std::optional<Seconds> ready_in;
    bool can_phone = true;
    std::map<FacilityId, CallAnswer> calls;
};

/// Exact: examines every single place and every ordered pair of places that can meet a need.
/// Complexity: one one-to-many search, plus one per place and wait that could be a first stop; none
/// of these where a single place loses less than a second stop must save.
///
/// Where nothing is left but places that did not answer the phone, those are considered again.
///
/// @param snaps where each facility of the register lies on the roads, in the register's order;
///              none where it lies off the map: passed over with that reason
/// @throws InputError if there is not one snap for each facility, or a figure of the settings makes
///         no sense (`check`)
Recommendation recommend(const triage::Assessment& assessment,
                         const facilities::FacilityRegister& facilities,
                         std::span<const std::optional<routing::Snap>> snaps,
                         routing::Router& router, const Start& start,
                         const ChoiceSettings& settings, Instant now);

}  // namespace waybourne::referral
