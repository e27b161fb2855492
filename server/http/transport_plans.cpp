#include "server/http/transport_plans.hpp"

#include "server/json/transport_plan.hpp"

namespace waybourne::server {

std::vector<Endpoint> transport_plan_endpoints(const Application& application) {
    const auto post = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        return HttpResponse{
            200, transport_plan_json(*snapshot, parse_transport_plan_request(request.body),
                                     application.clock.now())};
    };
    return {{"POST", "/v1/transport-plans", Privacy::personal,
             worked_out_by(application.workers, post)}};
}

}  // namespace waybourne::server
