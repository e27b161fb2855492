#include <algorithm>

#include "referral/referral_code.hpp"
#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/recorded.hpp"
#include "server/json/referral.hpp"
#include "server/referrals/permission.hpp"

namespace waybourne::server {

namespace {

/// On her way to the facility, or there and not yet handed over.
bool is_expected_at(const ReferralRecord& record, const FacilityId& facility) {
    const referral::Life& life = record.life;
    return life.is_open() && !life.is_refused && life.asked == facility &&
           (life.journey < referral::Journey::received || life.goes_onward);
}

/// The soonest first; those of whom no time is known last, in the order of their codes.
bool arrives_before(const std::shared_ptr<const ReferralRecord>& one,
                    const std::shared_ptr<const ReferralRecord>& other) {
    const auto time = [](const ReferralRecord& record) {
        const auto expected = record.expected_arrival();
        if (record.life.journey == referral::Journey::arrived && !record.life.goes_onward) {
            return Instant::min();
        }
        return expected ? expected->typical : Instant::max();
    };
    return std::pair{time(*one), one->code} < std::pair{time(*other), other->code};
}

HttpResponse list_arrivals(const Application& application, const HttpRequest& request) {
    const Records& records = records_of(application);
    const FacilityId facility{request.path_values.at(0)};
    const auto snapshot = application.snapshot.get();
    require_allowed(may_see_arrivals(request.caller, facility), request.caller);
    snapshot->facilities.facility(facility);  // throws for an unknown one
    const Instant now = application.clock.now();
    auto all = records.live();
    std::erase_if(all, [&](const auto& record) {
        return !is_expected_at(*record, facility) ||
               !is_of_same_world(request.caller, record->is_practice);
    });
    std::sort(all.begin(), all.end(), arrives_before);
    JsonWriter json;
    json.begin_object().member("facility", facility.value()).member("at", now);
    json.key("arrivals").begin_list();
    HttpResponse response{200, {}};
    for (const auto& record : all) {
        response.shown.push_back(record->code);
        write_arrival(json, {*record, *snapshot, request.caller, now, {}, {}});
    }
    json.end_list().end_object();
    response.body = json.take();
    return response;
}

ToldEvent reply_event(ObjectReader& reader, Instant now) {
    static const std::vector<std::string> answers{"accepted", "declined"};
    ToldEvent told;
    reader.require("answer");
    const bool is_no = reader.choice("answer", answers).value_or(0) == 1;
    told.event.kind = is_no ? referral::EventKind::declined : referral::EventKind::accepted;
    told.event.occurred_at = now;
    told.event.recorded_at = now;
    told.event.reason = reader.text("reason").value_or("");
    constexpr std::size_t longest = 200;
    if (told.event.reason.size() > longest) {
        reader.refuse("reason", "is longer than 200 bytes; a code or a few words are enough");
    }
    return told;
}

FacilityCall parse_facility_call(const HttpRequest& request, Instant now) {
    const JsonValue value = parse_json(request.body);
    std::vector<FieldError> errors;
    ObjectReader body{value, "#", errors};
    FacilityCall said;
    said.facility = FacilityId{request.path_values.at(0)};
    said.reports =
        parse_reports(body, said.facility, std::string(to_name(request.caller.role)), now, errors);
    if (const JsonValue* reply = body.take("reply")) {
        ObjectReader reader{*reply, "#/reply", errors};
        reader.require("code");
        said.code = referral::parse_referral_code(reader.text("code").value_or(""));
        said.reply = reply_event(reader, now);
        reader.finish();
    }
    body.finish();
    if (errors.empty() && said.reports.empty() && !said.reply) {
        errors.push_back({"#", "says nothing: give reports, a reply, or both"});
    }
    throw_if_any(errors);
    return said;
}

HttpResponse report(const Application& application, const HttpRequest& request) {
    records_of(application);
    const FacilityCall said = parse_facility_call(request, application.clock.now());
    const Told told = application.desk->report(call_of(request), said);
    JsonWriter json;
    json.begin_object().member("facility", said.facility.value()).member("at", told.at);
    json.member("reports", said.reports.size()).key("referral");
    HttpResponse response{200, {}};
    if (told.record) {
        json.raw(application.desk->render(request.caller, *told.record, told.at));
        response.headers.emplace_back("ETag", told.record->entity_tag());
        response.shown = {told.record->code};
    } else {
        json.null();
    }
    response.body = json.end_object().take();
    return response;
}

}  // namespace

std::vector<Endpoint> arrival_endpoints(const Application& application) {
    const auto arrivals = [&application](const HttpRequest& request) {
        return list_arrivals(application, request);
    };
    const auto readiness = [&application](const HttpRequest& request) {
        return report(application, request);
    };
    return {{"GET", "/v1/facilities/{id}/arrivals", Privacy::personal, arrivals},
            {"POST", "/v1/facilities/{id}/readiness", Privacy::personal, readiness}};
}

}  // namespace waybourne::server
