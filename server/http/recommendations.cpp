#include "server/answer_json.hpp"
#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/recommendation.hpp"
#include "server/json/request.hpp"
#include "server/languages.hpp"
#include "server/practice.hpp"

namespace waybourne::server {

HttpResponse recommendation_response(const Application& application, const Caller& caller,
                                     const RecommendationRequest& request) {
    const auto snapshot = application.snapshot.get();
    const Instant now = application.clock.now();
    const Catalogue& catalogue = catalogue_for(*snapshot, caller.languages);
    if (!caller.practice) {
        return in_language({200, recommendation_json(*snapshot, request, now, catalogue)},
                           catalogue);
    }
    Answer answer = answer_recommendation(*snapshot, request, now, catalogue);
    mark_as_practice(answer, catalogue);
    const Words words{catalogue, snapshot->zone, now};
    JsonWriter json;
    write_recommendation(json, {answer.assessment, answer.recommendation, snapshot->facilities,
                                answer.referral_note, stamp_of(*snapshot), words});
    return in_language({200, json.take()}, catalogue);
}

std::vector<Endpoint> recommendation_endpoints(const Application& application) {
    const auto post = [&application](const HttpRequest& request) {
        return recommendation_response(application, request.caller,
                                       parse_recommendation_request(request.body));
    };
    return {{"POST", "/v1/recommendations", Privacy::personal,
             worked_out_by(application.workers, post)}};
}

}  // namespace waybourne::server
