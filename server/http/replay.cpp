#include "server/json/replay.hpp"

#include "referral/referral_code.hpp"
#include "server/http/changes.hpp"
#include "server/http/query.hpp"
#include "server/http/resources.hpp"
#include "server/referrals/permission.hpp"
#include "server/referrals/replay.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

ReplayQuestion question_in(const HttpRequest& request) {
    ReplayQuestion question;
    question.code = referral::parse_referral_code(request.path_values.at(0));
    if (const auto entry = asked_for(request, "entry")) {
        question.sequence = find_sequence(*entry);
        if (!question.sequence) {
            throw InputError("the query is not usable", {{"?entry", "is no number of an entry"}});
        }
    }
    if (const auto knowledge = asked_for(request, "knowledge")) {
        if (*knowledge != "then" && *knowledge != "today") {
            throw InputError("the query is not usable",
                             {{"?knowledge", "is neither then nor today"}});
        }
        question.knowledge = *knowledge == "today" ? Knowledge::of_today : Knowledge::of_then;
    }
    return question;
}

HttpResponse replay_case(const Application& application, const HttpRequest& request) {
    const Records& records = records_of(application);
    const ReplayQuestion question = question_in(request);
    application.desk->visible(request.caller, question.code);  // throws for who may not see it
    const auto replays =
        replay(records.journal(), records.base(), *application.snapshot.get(), question);
    return {200, render_replays(question.code, replays, gives_care(request.caller))};
}

}  // namespace

std::vector<Endpoint> replay_endpoints(const Application& application) {
    const auto get = [&application](const HttpRequest& request) {
        return replay_case(application, request);
    };
    return {{"GET",
             "/v1/referrals/{code}/replay",
             Privacy::personal,
             worked_out_by(application.workers, get),
             {"entry", "knowledge"}}};
}

}  // namespace waybourne::server
