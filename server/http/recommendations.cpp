#include "server/answer_json.hpp"
#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/recommendation.hpp"
#include "server/json/request.hpp"
#include "server/practice.hpp"

namespace waybourne::server {

HttpResponse recommendation_response(const Application& application, const Caller& caller,
                                     const RecommendationRequest& request) {
    const auto snapshot = application.snapshot.get();
    const Instant now = application.clock.now();
    if (!caller.practice) {
        return {200, recommendation_json(*snapshot, request, now)};
    }
    Answer answer = answer_recommendation(*snapshot, request, now);
    mark_as_practice(answer, snapshot->catalogue);
    const Words words{snapshot->catalogue, snapshot->zone, now};
    JsonWriter json;
    write_recommendation(json, {answer.assessment, answer.recommendation, snapshot->facilities,
                                answer.referral_note, stamp_of(*snapshot), words});
    return {200, json.take()};
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
