#pragma once
/// The questions the program answers, each as one function of a snapshot, a request and the moment:
/// the command line and HTTP call the same ones. Those about ways alone are in ways.hpp.

#include <optional>
#include <string>
#include <vector>

#include "referral/recommendation.hpp"
#include "routing/route.hpp"
#include "server/request.hpp"
#include "server/snapshot.hpp"
#include "triage/assess.hpp"
#include "triage/assessment.hpp"

namespace waybourne::server {

/// Clocks of phones run ahead a little: times up to this far after now count as now. Ours, no
/// source.
inline constexpr Seconds clock_tolerance = 2min;

/// What may be wrong and what she needs.
/// @throws InputError for a time after now, and what `triage::assess` throws, each error with its
///         place in the request
triage::Assessment answer_assessment(const Snapshot& snapshot, const triage::Findings& findings,
                                     Instant now);

/// Where to send her, and the note that goes with her.
struct Answer {
    triage::Assessment assessment;
    referral::Recommendation recommendation;
    std::string referral_note;
};

/// @throws InputError also for a point off the map; NotFound for an unknown facility, with the
///         nearest id; Unavailable when every search is busy
/// @param note_words the note is in this language
Answer answer_recommendation(const Snapshot& snapshot, const RecommendationRequest& request,
                             Instant now, const Catalogue& note_words);

/// The note of an answer.
/// @param code of the referral; empty: a line to fill in
/// @throws InputError for a time after now
std::string write_note(const Snapshot& snapshot, const RecommendationRequest& request,
                       const Answer& answer, const std::string& code, Instant now,
                       const Catalogue& words);

/// One place and what can be said of it for one capability.
struct PlaceAnswer {
    FacilityId facility;
    /// None: no way there.
    std::optional<routing::TravelTime> travel_time;
    /// On arrival, judged by `allow`; of a place without a way: now.
    facilities::Readiness readiness;
};

struct PlacesRequest {
    triage::Capability capability{};
    Place from;
    routing::Means means = routing::Means::car;
    std::optional<routing::RoadConditions> road_conditions;
};

/// Every facility, nearest first, those without a way last.
/// @throws InputError, NotFound, Unavailable as above
std::vector<PlaceAnswer> answer_places(const Snapshot& snapshot, const PlacesRequest& request,
                                       Instant now);

/// The readiness of every capability that the facility offers, for somebody who is there now.
/// @throws NotFound with the nearest id
std::vector<facilities::Readiness> answer_readiness(const Snapshot& snapshot,
                                                    const FacilityId& facility, Instant now);

}  // namespace waybourne::server
