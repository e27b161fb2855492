#include "server/application.hpp"

#include "server/http/coverage.hpp"
#include "server/http/resources.hpp"
#include "server/http/transport_plans.hpp"

namespace waybourne::server {

EndpointTable all_endpoints(const Application& application) {
    std::vector<Endpoint> all;
    for (auto* resource :
         {assessment_endpoints,    recommendation_endpoints, transport_plan_endpoints,
          coverage_endpoints,      scenario_endpoints,       facility_endpoints,
          route_endpoints,         protocol_endpoints,       road_condition_endpoints,
          referral_endpoints,      arrival_endpoints,        live_endpoints,
          replay_endpoints,        fhir_endpoints,           note_endpoints,
          operation_endpoints,     token_endpoints,          audit_endpoints,
          pack_endpoints,          page_endpoints,           map_endpoints,
          vehicle_endpoints,       named_place_endpoints,    text_endpoints,
          shift_handover_endpoints}) {
        for (Endpoint& endpoint : resource(application)) {
            all.push_back(
                application.audit == nullptr
                    ? std::move(endpoint)
                    : audited(std::move(endpoint), *application.audit, application.clock));
        }
    }
    return EndpointTable{std::move(all)};
}

}  // namespace waybourne::server
