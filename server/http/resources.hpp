#pragma once
/// The resources of the API: for each, its endpoints. docs/openapi.yaml describes them.

#include <string>
#include <vector>

#include "server/application.hpp"

namespace waybourne::server {

std::vector<Endpoint> assessment_endpoints(const Application& application);
std::vector<Endpoint> recommendation_endpoints(const Application& application);
std::vector<Endpoint> facility_endpoints(const Application& application);
std::vector<Endpoint> route_endpoints(const Application& application);
std::vector<Endpoint> protocol_endpoints(const Application& application);
/// What phones take with them.
std::vector<Endpoint> pack_endpoints(const Application& application);
std::vector<Endpoint> road_condition_endpoints(const Application& application);
/// Places by a name that was heard, spelt as it may be.
std::vector<Endpoint> named_place_endpoints(const Application& application);
/// Where vehicles are, and whether they can be sent.
std::vector<Endpoint> vehicle_endpoints(const Application& application);
/// A dispatcher's shift handed to the next one, as a signed list.
std::vector<Endpoint> shift_handover_endpoints(const Application& application);
std::vector<Endpoint> token_endpoints(const Application& application);
std::vector<Endpoint> audit_endpoints(const Application& application);
std::vector<Endpoint> referral_endpoints(const Application& application);
/// The facility's side: who is coming, and what it can give.
std::vector<Endpoint> arrival_endpoints(const Application& application);
/// A referral as FHIR R4, and its task as others change it.
std::vector<Endpoint> fhir_endpoints(const Application& application);
/// The referral note as a page to print.
std::vector<Endpoint> note_endpoints(const Application& application);
/// Recommendations of the past, made again.
std::vector<Endpoint> replay_endpoints(const Application& application);
/// `/v1/texts` and `/v1/receipts`: for the gateway of text messages.
std::vector<Endpoint> text_endpoints(const Application& application);
/// `/v1/live`
std::vector<Endpoint> live_endpoints(const Application& application);
/// `/livez`, `/readyz`, `/metrics`, `/openapi.yaml`
std::vector<Endpoint> operation_endpoints(const Application& application);
/// The map's own drawing, by square.
std::vector<Endpoint> map_endpoints(const Application& application);
/// `/` and what the page consists of.
std::vector<Endpoint> page_endpoints(const Application& application);

/// The answer, marked as written in the catalogue's language and as chosen by `Accept-Language`
/// (RFC 9110, sections 8.5 and 12.5.5).
HttpResponse in_language(HttpResponse response, const Catalogue& catalogue);

/// The answer with an entity tag made from its bytes, or 304 when the client has it already
/// (RFC 9110, section 13.1.2).
HttpResponse with_entity_tag(HttpResponse response, const std::string& if_none_match);

}  // namespace waybourne::server
