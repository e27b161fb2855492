#include "server/answer_json.hpp"
#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/request.hpp"

namespace waybourne::server {

HttpResponse recommendation_response(const Application& application,
                                     const RecommendationRequest& request) {
    return {200,
            recommendation_json(*application.snapshot.get(), request, application.clock.now())};
}

std::vector<Endpoint> recommendation_endpoints(const Application& application) {
    const auto post = [&application](const HttpRequest& request) {
        return recommendation_response(application, parse_recommendation_request(request.body));
    };
    return {{"POST", "/v1/recommendations", Privacy::personal,
             worked_out_by(application.workers, post)}};
}

}  // namespace waybourne::server
