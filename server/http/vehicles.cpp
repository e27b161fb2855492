#include "server/vehicles.hpp"

#include <algorithm>

#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/vehicle.hpp"
#include "server/languages.hpp"
#include "server/planned_roads.hpp"
#include "server/referrals/permission.hpp"
#include "server/referrals/shift_list.hpp"

namespace waybourne::server {

namespace {

/// Off the map. Boats go where their ways are listed, not on roads: their place is not asked.
void check_position(const Snapshot& snapshot, const dispatch::Vehicle& vehicle,
                    const dispatch::VehicleReport& report, Instant now) {
    if (!report.position || vehicle.means == routing::Means::boat) {
        return;
    }
    PlannedRoads roads(snapshot);
    if (!roads.snap(report.position->point, vehicle.means, now)) {
        throw InputError("the position is off the map",
                         {{"#/position",
                           "lies off the map: no road that this vehicle can use is "
                           "near"}});
    }
}

HttpResponse list_vehicles(const Application& application, const HttpRequest& request) {
    const Records& records = records_of(application);
    const auto snapshot = application.snapshot.get();
    const Words words{catalogue_for(*snapshot, request.caller.languages), snapshot->zone,
                      application.clock.now()};
    const VehicleReports reports = records.vehicle_reports();
    const auto codes = referrals_by_vehicle(records.live());
    HttpResponse response{200, {}};
    JsonWriter json;
    json.begin_object().member("at", words.now()).key("vehicles").begin_list();
    for (const dispatch::Vehicle& vehicle : vehicles_now(*snapshot, reports)) {
        if (!may_see_vehicle(request.caller, vehicle.id)) {
            continue;
        }
        const auto report = reports.find(vehicle.id);
        const auto code = codes.find(vehicle.id);
        if (code != codes.end()) {
            response.shown.push_back(code->second);
        }
        write_vehicle(json,
                      {vehicle, report == reports.end() ? nullptr : &report->second,
                       code == codes.end() ? std::nullopt : std::optional(code->second)},
                      *snapshot, words);
    }
    response.body = json.end_list().end_object().take();
    return response;
}

HttpResponse report_vehicle(const Application& application, const HttpRequest& request) {
    records_of(application);
    const auto snapshot = application.snapshot.get();
    const Instant now = application.clock.now();
    const dispatch::Vehicle& vehicle = vehicle_of(*snapshot, VehicleId{request.path_values.at(0)});
    require_allowed(may_see_vehicle(request.caller, vehicle.id), request.caller);
    VehicleCall said;
    said.vehicle = vehicle.id;
    said.report =
        parse_vehicle_report(request.body, std::string(to_name(request.caller.role)), now);
    check_position(*snapshot, vehicle, said.report, now);
    application.desk->report_vehicle(call_of(request), said);
    if (application.look_again) {
        application.look_again();
    }
    return list_vehicles(application, request);
}

}  // namespace

std::vector<Endpoint> vehicle_endpoints(const Application& application) {
    const auto list = [&application](const HttpRequest& request) {
        return list_vehicles(application, request);
    };
    const auto report = [&application](const HttpRequest& request) {
        return report_vehicle(application, request);
    };
    return {{"GET", "/v1/vehicles", Privacy::personal, list},
            {"POST", "/v1/vehicles/{id}/reports", Privacy::personal, report}};
}

}  // namespace waybourne::server
