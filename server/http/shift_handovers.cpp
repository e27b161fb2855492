#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/shift_handover.hpp"
#include "server/languages.hpp"
#include "server/referrals/permission.hpp"

namespace waybourne::server {

namespace {

/// A few weeks of three shifts a day.
constexpr std::size_t most_listed = 100;

/// The list, its SHA-256 as the entity tag, and the codes on it for the audit trail.
HttpResponse with_list(HttpResponse response, JsonWriter& json, const SignedList& made,
                       const Words& words) {
    json.member("sha256", made.sha256).member("as_of", std::int64_t{made.as_of}).key("list");
    write_shift_list(json, made.list, words);
    response.headers.emplace_back("ETag", "\"" + made.sha256 + "\"");
    for (const ShiftList::Woman& woman : made.list.women) {
        response.shown.push_back(woman.code);
    }
    return response;
}

HttpResponse show_one(const Application& application, const HttpRequest& request,
                      const ShiftHandover& handover, int status) {
    const auto snapshot = application.snapshot.get();
    const Words words{catalogue_for(*snapshot, request.caller.languages), snapshot->zone,
                      application.clock.now()};
    JsonWriter json;
    json.begin_object();
    write_handover_members(json, handover);
    HttpResponse response{status, {}};
    if (const auto made = signed_list(records_of(application).journal(), handover.id)) {
        response = with_list(std::move(response), json, *made, words);
    } else {
        json.key("sha256").null().key("as_of").null().key("list").null();
    }
    response.body = json.end_object().take();
    return response;
}

HttpResponse list_handovers(const Application& application, const HttpRequest& request) {
    const Records& records = records_of(application);
    require_allowed(may_send_vehicles(request.caller), request.caller);
    JsonWriter json;
    json.begin_object().key("handovers").begin_list();
    for (const ShiftHandover& handover : records.handovers(request.caller.practice, most_listed)) {
        json.begin_object();
        write_handover_members(json, handover);
        json.end_object();
    }
    return {200, json.end_list().end_object().take()};
}

HttpResponse show_now(const Application& application, const HttpRequest& request) {
    records_of(application);
    const auto snapshot = application.snapshot.get();
    const Instant now = application.clock.now();
    const Words words{catalogue_for(*snapshot, request.caller.languages), snapshot->zone, now};
    JsonWriter json;
    json.begin_object().member("at", now);
    HttpResponse response =
        with_list(HttpResponse{200, {}}, json, application.desk->open_now(request.caller), words);
    response.body = json.end_object().take();
    return response;
}

HttpResponse show(const Application& application, const HttpRequest& request) {
    records_of(application);
    return show_one(application, request,
                    application.desk->handover(request.caller, request.path_values.at(0)), 200);
}

/// Says nothing more than the signature itself: an empty object.
void check_empty(const HttpRequest& request) {
    parse_body(request.body, [](ObjectReader&, std::vector<FieldError>&) { return true; });
}

HttpResponse leave(const Application& application, const HttpRequest& request) {
    records_of(application);
    check_empty(request);
    const ShiftHandover handover = application.desk->leave_shift(call_of(request));
    HttpResponse response = show_one(application, request, handover, 201);
    response.headers.emplace_back("Location", "/v1/shift-handovers/" + handover.id);
    return response;
}

HttpResponse take(const Application& application, const HttpRequest& request) {
    records_of(application);
    check_empty(request);
    return show_one(application, request,
                    application.desk->take_shift(call_of(request), request.path_values.at(0)), 200);
}

}  // namespace

std::vector<Endpoint> shift_handover_endpoints(const Application& application) {
    const auto with = [&application](auto work) {
        return
            [&application, work](const HttpRequest& request) { return work(application, request); };
    };
    const std::string all = "/v1/shift-handovers";
    return {{"GET", all, Privacy::personal, with(list_handovers)},
            {"POST", all, Privacy::personal, with(leave)},
            {"GET", all + "/now", Privacy::personal, with(show_now)},
            {"GET", all + "/{id}", Privacy::personal, with(show)},
            {"POST", all + "/{id}/acknowledgement", Privacy::personal, with(take)}};
}

}  // namespace waybourne::server
