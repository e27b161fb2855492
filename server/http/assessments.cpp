#include "server/answer_json.hpp"
#include "server/http/resources.hpp"

namespace waybourne::server {

std::vector<Endpoint> assessment_endpoints(const Application& application) {
    const auto post = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        return HttpResponse{200, assessment_json(*snapshot, request.body, application.clock.now())};
    };
    return {
        {"POST", "/v1/assessments", Privacy::personal, worked_out_by(application.workers, post)}};
}

}  // namespace waybourne::server
