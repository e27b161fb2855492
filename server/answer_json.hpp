#pragma once
/// Answers as the JSON that is sent: one function for each question that a phone can answer too, so
/// that both say the same, byte for byte. Sentences are those of the catalogue.

#include <string>
#include <string_view>

#include "server/json/recommendation.hpp"
#include "server/request.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

SnapshotStamp stamp_of(const Snapshot& snapshot);

/// The answer of `POST /v1/assessments`.
/// @throws InputError as `parse_findings` and `answer_assessment`
std::string assessment_json(const Snapshot& snapshot, std::string_view body, Instant now,
                            const Catalogue& catalogue);

/// The answer of `POST /v1/recommendations`.
/// @throws as `answer_recommendation`
std::string recommendation_json(const Snapshot& snapshot, const RecommendationRequest& request,
                                Instant now, const Catalogue& catalogue);

/// The answer of `POST /v1/routes`.
/// @throws as `parse_route_request` and `answer_route`
std::string route_json(const Snapshot& snapshot, std::string_view body, Instant now);

/// The answer of `GET /v1/protocol`.
std::string protocol_json(const Snapshot& snapshot, const Catalogue& catalogue);

/// The answer of `GET /v1/facilities`.
std::string facilities_json(const Snapshot& snapshot);

/// The answers of `GET /v1/facilities/{id}` and of `…/readiness`.
/// @throws NotFound
std::string facility_json(const Snapshot& snapshot, const FacilityId& id);
std::string readiness_json(const Snapshot& snapshot, const FacilityId& id, Instant now,
                           const Catalogue& catalogue);

}  // namespace waybourne::server
