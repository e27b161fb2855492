#include "server/http/transport_plans.hpp"

#include "referral/referral_code.hpp"
#include "server/http/changes.hpp"
#include "server/http/query.hpp"
#include "server/json/open_plan.hpp"
#include "server/json/transport_plan.hpp"
#include "server/languages.hpp"
#include "server/referrals/permission.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// How a query says that no vehicle is to carry her.
constexpr std::string_view no_vehicle = "none";

HttpResponse plan_given(const Application& application, const HttpRequest& request) {
    const auto snapshot = application.snapshot.get();
    TransportPlanRequest asked = parse_transport_plan_request(request.body);
    if (!asked.vehicles && application.records != nullptr) {
        asked.vehicles = vehicles_now(*snapshot, application.records->vehicle_reports());
    }
    return {200, transport_plan_json(*snapshot, asked, application.clock.now())};
}

std::vector<VehicleId> vehicles_in(std::string_view list) {
    std::vector<VehicleId> vehicles;
    while (list != no_vehicle && !list.empty()) {
        const std::size_t end = std::min(list.find(','), list.size());
        vehicles.emplace_back(std::string{list.substr(0, end)});
        list.remove_prefix(std::min(end + 1, list.size()));
    }
    return vehicles;
}

OpenPlanRequest asked_in(const HttpRequest& request) {
    OpenPlanRequest asked;
    const auto code = asked_for(request, "referral");
    const auto vehicles = asked_for(request, "vehicles");
    if (vehicles && !code) {
        throw InputError("the query is not usable",
                         {{"?vehicles", "says for which referral it is: add referral"}});
    }
    if (vehicles) {
        asked.decided = dispatch::Promise{ReferralId{referral::parse_referral_code(*code)},
                                          vehicles_in(*vehicles)};
    } else if (code) {
        asked.ways_of = ReferralId{referral::parse_referral_code(*code)};
    }
    return asked;
}

HttpResponse open_plan(const Application& application, const Caller& caller,
                       const OpenPlanRequest& asked) {
    const Records& records = records_of(application);
    const auto snapshot = application.snapshot.get();
    const Instant now = application.clock.now();
    const OpenPlanAnswer answer = answer_open_plan(*snapshot, records, caller, asked, now);
    JsonWriter json;
    write_open_plan(json, answer, *snapshot,
                    Words{catalogue_for(*snapshot, caller.languages), snapshot->zone, now});
    HttpResponse response{200, json.take()};
    response.headers.emplace_back("ETag", to_plan_tag(answer.as_of));
    for (const OpenWoman& woman : answer.open.women) {
        response.shown.push_back(woman.record->code);
    }
    return response;
}

HttpResponse show_open_plan(const Application& application, const HttpRequest& request) {
    records_of(application);
    require_allowed(may_send_vehicles(request.caller), request.caller);
    return open_plan(application, request.caller, asked_in(request));
}

HttpResponse accept(const Application& application, const HttpRequest& request) {
    records_of(application);
    application.desk->accept_transport(call_of(request), parse_accepted_transport(request.body));
    return open_plan(application, request.caller, {});
}

}  // namespace

std::vector<Endpoint> transport_plan_endpoints(const Application& application) {
    const auto worked_out = [&application](auto work) {
        return worked_out_by(application.workers, [&application, work](const HttpRequest& request) {
            return work(application, request);
        });
    };
    return {{"POST", "/v1/transport-plans", Privacy::personal, worked_out(plan_given)},
            {"GET",
             "/v1/transport-plans",
             Privacy::personal,
             worked_out(show_open_plan),
             {"referral", "vehicles"}},
            {"POST", "/v1/transport-plans/accepted", Privacy::personal, worked_out(accept)}};
}

}  // namespace waybourne::server
