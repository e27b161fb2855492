#include "server/json/fhir.hpp"

#include "referral/referral_code.hpp"
#include "server/http/changes.hpp"
#include "server/http/resources.hpp"

namespace waybourne::server {

namespace {

HttpResponse fhir_response(std::string body, const ReferralRecord& record) {
    HttpResponse response{200, std::move(body)};
    response.content_type = fhir_content_type;
    // Weak, as FHIR's own: the bytes may differ, the version is the same.
    response.headers.emplace_back("ETag", "W/" + record.entity_tag());
    return response;
}

ReferralView view_of(const Application& application, const HttpRequest& request,
                     const ReferralRecord& record, const Snapshot& snapshot) {
    return {record, snapshot, request.caller, application.clock.now(), {}, {}};
}

std::shared_ptr<const ReferralRecord> record_of(const Application& application,
                                                const HttpRequest& request) {
    records_of(application);
    return application.desk->visible(request.caller,
                                     referral::parse_referral_code(request.path_values.at(0)));
}

HttpResponse show_bundle(const Application& application, const HttpRequest& request) {
    const auto record = record_of(application, request);
    const auto snapshot = application.snapshot.get();
    return fhir_response(render_fhir_bundle(view_of(application, request, *record, *snapshot)),
                         *record);
}

HttpResponse show_task(const Application& application, const HttpRequest& request) {
    const auto record = record_of(application, request);
    const auto snapshot = application.snapshot.get();
    return fhir_response(render_fhir_task(view_of(application, request, *record, *snapshot)),
                         *record);
}

HttpResponse change_task(const Application& application, const HttpRequest& request) {
    const auto record = record_of(application, request);
    const auto snapshot = application.snapshot.get();
    const std::string ours = render_fhir_task(view_of(application, request, *record, *snapshot));
    const auto told = parse_fhir_task(request.body, ours, application.clock.now());
    if (!told) {
        return fhir_response(ours, *record);
    }
    const Told after = application.desk->tell(call_of(request), record->code, *told);
    return fhir_response(render_fhir_task(view_of(application, request, *after.record, *snapshot)),
                         *after.record);
}

/// Refusals in FHIR's own words. What is our own fault stays the server's to tell.
HttpResponse in_fhir(const std::function<HttpResponse()>& work) {
    try {
        return work();
    } catch (...) {
        const Problem problem = to_problem(std::current_exception());
        constexpr int first_of_ours = 500;
        if (problem.status >= first_of_ours) {
            throw;
        }
        HttpResponse response{problem.status, render_fhir_outcome(problem)};
        response.content_type = fhir_content_type;
        response.headers = problem.headers;
        response.shown = problem.shown;
        return response;
    }
}

}  // namespace

std::vector<Endpoint> fhir_endpoints(const Application& application) {
    const auto with = [&application](auto work) {
        return [&application, work](const HttpRequest& request) {
            return in_fhir([&] { return work(application, request); });
        };
    };
    const std::string one = "/v1/referrals/{code}/fhir";
    return {{"GET", one, Privacy::personal, with(show_bundle)},
            {"GET", one + "/task", Privacy::personal, with(show_task)},
            {"PUT", one + "/task", Privacy::personal, with(change_task)}};
}

}  // namespace waybourne::server
