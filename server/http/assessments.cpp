#include "server/answer_json.hpp"
#include "server/http/resources.hpp"
#include "server/json/assessment.hpp"
#include "server/json/request.hpp"
#include "server/languages.hpp"
#include "server/practice.hpp"

namespace waybourne::server {

std::vector<Endpoint> assessment_endpoints(const Application& application) {
    const auto post = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        const Instant now = application.clock.now();
        const Catalogue& catalogue = catalogue_for(*snapshot, request.caller.languages);
        if (!request.caller.practice) {
            return in_language({200, assessment_json(*snapshot, request.body, now, catalogue)},
                               catalogue);
        }
        triage::Assessment assessment =
            answer_assessment(*snapshot, parse_findings(request.body), now);
        mark_as_practice(assessment);
        JsonWriter json;
        write_assessment(json, assessment, Words{catalogue, snapshot->zone, now});
        return in_language({200, json.take()}, catalogue);
    };
    return {
        {"POST", "/v1/assessments", Privacy::personal, worked_out_by(application.workers, post)}};
}

}  // namespace waybourne::server
