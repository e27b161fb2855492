#include <algorithm>

#include "referral/referral_code.hpp"
#include "server/answer.hpp"
#include "server/http/changes.hpp"
#include "server/http/query.hpp"
#include "server/http/resources.hpp"
#include "server/json/referral.hpp"
#include "server/json/request.hpp"
#include "server/referrals/permission.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t page_size = 50;

/// The code in its one form, however it was written.
std::string code_in(const HttpRequest& request) {
    return referral::parse_referral_code(request.path_values.at(0));
}

[[noreturn]] void refuse_query(const std::string& name, const std::string& what) {
    throw InputError("the query is not usable", {{"?" + name, what}});
}

ReferralFilter filter_in(const HttpRequest& request) {
    ReferralFilter filter;
    if (const auto facility = asked_for(request, "facility")) {
        filter.facility = FacilityId{*facility};
    }
    if (const auto state = asked_for(request, "state")) {
        filter.state = referral::find_state(*state);
        if (!filter.state) {
            refuse_query("state", "is not the name of a state");
        }
    }
    if (const auto open = asked_for(request, "open")) {
        if (*open != "true" && *open != "false") {
            refuse_query("open", "is neither true nor false");
        }
        filter.is_open = *open == "true";
    }
    return filter;
}

bool passes(const ReferralFilter& filter, const ReferralSummary& summary) {
    const bool is_place = !filter.facility || summary.sender == *filter.facility ||
                          summary.asked == filter.facility || summary.at == filter.facility;
    return is_place && (!filter.state || summary.state == *filter.state) &&
           (!filter.is_open || summary.is_open == *filter.is_open);
}

journal::Sequence cursor_in(const HttpRequest& request) {
    const auto cursor = asked_for(request, "cursor");
    if (!cursor) {
        return std::numeric_limits<journal::Sequence>::max();
    }
    const auto sequence = find_sequence(*cursor);
    if (!sequence) {
        refuse_query("cursor", "is none that this server gave");
    }
    return *sequence;
}

HttpResponse list_referrals(const Application& application, const HttpRequest& request) {
    const Records& records = records_of(application);
    require_allowed(may_use_referrals(request.caller), request.caller);
    const ReferralFilter filter = filter_in(request);
    auto page = records.page(cursor_in(request), page_size + 1, [&](const auto& summary) {
        return may_see(request.caller, summary) && passes(filter, summary);
    });
    std::optional<std::string> next;
    if (page.size() > page_size) {
        page.pop_back();
        next = std::to_string(page.back().opened_sequence);
    }
    JsonWriter json;
    json.begin_object().key("referrals").begin_list();
    HttpResponse response{200, {}};
    for (const ReferralSummary& summary : page) {
        write_summary(json, summary);
        response.shown.push_back(summary.code);
    }
    json.end_list().member("next_cursor", next).end_object();
    response.body = json.take();
    return response;
}

HttpResponse show(const Application& application, const HttpRequest& request) {
    records_of(application);
    const auto record = application.desk->visible(request.caller, code_in(request));
    HttpResponse response{
        200, application.desk->render(request.caller, *record, application.clock.now())};
    response.headers.emplace_back("ETag", record->entity_tag());
    return response;
}

HttpResponse open(const Application& application, const HttpRequest& request) {
    records_of(application);
    Opening opening = parse_opening(request.body, application.clock.now());
    const Told told =
        application.desk->open(call_of(request), std::move(opening), std::string{request.body});
    HttpResponse response = told_response(application, request, told);
    response.status = 201;
    response.shown = {told.record->code};
    response.headers.emplace_back("Location", "/v1/referrals/" + told.record->code);
    return response;
}

HttpResponse tell(const Application& application, const HttpRequest& request) {
    records_of(application);
    ToldEvent told = parse_event_call(request.body, application.clock.now());
    return told_response(application, request,
                         application.desk->tell(call_of(request), code_in(request), told));
}

std::string reason_in(const HttpRequest& request) {
    constexpr std::size_t longest = 200;
    return parse_body(request.body, [&](ObjectReader& body, std::vector<FieldError>& errors) {
        body.require("reason");
        std::string reason = body.text("reason").value_or("");
        if (errors.empty() && (reason.empty() || reason.size() > longest)) {
            body.refuse("reason", "needs 1 to 200 bytes");
        }
        return reason;
    });
}

HttpResponse hold(const Application& application, const HttpRequest& request) {
    records_of(application);
    const std::string reason = request.method == "DELETE" ? "" : reason_in(request);
    return told_response(application, request,
                         application.desk->hold(call_of(request), code_in(request), reason));
}

/// A new recommendation from where she is now; stores nothing.
HttpResponse recommend_onward(const Application& application, const HttpRequest& request) {
    records_of(application);
    const auto record = application.desk->visible(request.caller, code_in(request));
    const JsonValue value = parse_json(request.body);
    std::vector<FieldError> errors;
    ObjectReader body{value, "#", errors};
    std::optional<Place> from;
    if (value.find("from") != nullptr) {
        from = parse_place(body, "from", errors);
    }
    body.finish();
    throw_if_any(errors);
    const RecommendationRequest onward = application.desk->onward_request(*record, from);
    return application.workers.run(
        [&] { return recommendation_response(application, request.caller, onward); });
}

}  // namespace

Records& records_of(const Application& application) {
    if (application.records == nullptr) {
        throw Unavailable(
            "this server keeps no journal: start it with --journal to open referrals");
    }
    return *application.records;
}

Call call_of(const HttpRequest& request) {
    std::string whole = request.method;
    for (const std::string& value : request.path_values) {
        whole += " " + value;
    }
    whole += "\n";
    whole += request.body;
    return {request.caller, request.idempotency_key, request.if_match, sha256(whole)};
}

HttpResponse told_response(const Application& application, const HttpRequest& request,
                           const Told& told) {
    HttpResponse response{200, application.desk->render(request.caller, *told.record, told.at)};
    response.headers.emplace_back("ETag", told.record->entity_tag());
    return response;
}

std::vector<Endpoint> referral_endpoints(const Application& application) {
    const auto with = [&application](auto work) {
        return
            [&application, work](const HttpRequest& request) { return work(application, request); };
    };
    const std::string one = "/v1/referrals/{code}";
    return {{"POST", "/v1/referrals", Privacy::personal, with(open)},
            {"GET",
             "/v1/referrals",
             Privacy::personal,
             with(list_referrals),
             {"cursor", "facility", "open", "state"}},
            {"GET", one, Privacy::personal, with(show)},
            {"POST", one + "/events", Privacy::personal, with(tell)},
            {"POST", one + "/recommendations", Privacy::personal, with(recommend_onward)},
            {"POST", one + "/hold", Privacy::personal, with(hold)},
            {"DELETE", one + "/hold", Privacy::personal, with(hold)}};
}

}  // namespace waybourne::server
