#pragma once
/// Requests as JSON (docs/openapi.yaml). Each function reports every error at once.

#include <string>
#include <string_view>

#include "server/json/object_reader.hpp"
#include "server/json/writer.hpp"
#include "server/request.hpp"

namespace waybourne::server {

/// The names that requests give to means of transport; a ferry or boat is never what is at hand.
const std::vector<std::string>& means_names();

/// The body of `POST /v1/assessments`. Values are taken as they are written: which fields there are
/// and what they may hold is the protocol's to say, in `assess`.
/// @throws InputError with the RFC 6901 pointer of each error
triage::Findings parse_findings(std::string_view json);

/// A recommendation's request inside another body; errors are added under `pointer`.
RecommendationRequest read_recommendation_request(const JsonValue& value,
                                                  const std::string& pointer,
                                                  std::vector<FieldError>& errors);

/// What `read_recommendation_request` reads, value for value.
void write_recommendation_request(JsonWriter& json, const RecommendationRequest& request);

/// A member that names a place: `{"facility": …}`, or `{"latitude": …, "longitude": …}`.
Place parse_place(ObjectReader& body, const std::string& name, std::vector<FieldError>& errors);

/// A list of names of capabilities; those that are none are errors.
triage::CapabilitySet parse_capabilities(ObjectReader& body, const std::string& name,
                                         std::vector<FieldError>& errors);
/// The member `road_conditions`, `{"surface": …, "light": …}`; none when missing.
std::optional<routing::RoadConditions> parse_conditions(ObjectReader& body,
                                                        std::vector<FieldError>& errors);
/// The member `means`; a car when missing.
routing::Means read_means(ObjectReader& body);

/// The body of `POST /v1/recommendations`.
/// @throws InputError
RecommendationRequest parse_recommendation_request(std::string_view json);

/// The body of `POST /v1/routes`.
/// @throws InputError
RouteRequest parse_route_request(std::string_view json);

/// The body of `POST /v1/alternatives`.
/// @throws InputError
AlternativesRequest parse_alternatives_request(std::string_view json);

/// The body of `POST /v1/reach`.
/// @throws InputError
ReachRequest parse_reach_request(std::string_view json);

}  // namespace waybourne::server
