#include "server/answer.hpp"
#include "server/http/resources.hpp"
#include "server/json/assessment.hpp"
#include "server/json/request.hpp"

namespace waybourne::server {

std::vector<Endpoint> assessment_endpoints(const Application& application) {
    const auto post = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        const Instant now = application.clock.now();
        const triage::Assessment assessment =
            answer_assessment(*snapshot, parse_findings(request.body), now);
        JsonWriter json;
        write_assessment(json, assessment, Words{snapshot->catalogue, snapshot->zone, now});
        return HttpResponse{200, json.take()};
    };
    return {
        {"POST", "/v1/assessments", Privacy::personal, worked_out_by(application.workers, post)}};
}

}  // namespace waybourne::server
