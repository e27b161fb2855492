#include "server/planning_inputs.hpp"

#include "dispatch/vehicle.hpp"
#include "server/json/recorded.hpp"
#include "server/json/road_conditions.hpp"
#include "server/json/writer.hpp"
#include "server/settlements.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

/// More than any file writes.
constexpr int digits = 9;

template <typename Write>
std::string fingerprint(const Write& write) {
    JsonWriter json;
    json.begin_list();
    write(json);
    return sha256(json.end_list().take());
}

std::string of_settlements(const Snapshot& snapshot, const CoverageRequest& request) {
    const auto settlements =
        settlements_of(snapshot, {request.settlements, request.areas, request.births_per_1000});
    return fingerprint([&](JsonWriter& json) {
        for (const coverage::Settlement& one : settlements) {
            json.begin_object().member("id", one.id).member("name", one.name);
            json.key("at").value(one.point);
            json.key("births").value(one.births_per_year, digits);
            json.member("area", one.area).key("wealth_rank");
            one.wealth_rank ? json.value(*one.wealth_rank, digits) : json.null();
            json.end_object();
        }
    });
}

std::string of_road_changes(const Snapshot& snapshot, Instant leave_at) {
    return fingerprint([&](JsonWriter& json) {
        for (routing::RoadChange change : snapshot.roads->changes()) {
            if (change.period.contains(leave_at)) {
                // who said it, and until when it held, change no figure
                change.id.clear();
                change.reason.clear();
                change.period = {};
                write_change(json, change);
                json.value(int{change.means.bits()});
            }
        }
    });
}

std::string of_vehicles(const Snapshot& snapshot, Instant leave_at) {
    return fingerprint([&](JsonWriter& json) {
        for (const dispatch::Vehicle& vehicle : snapshot.vehicles) {
            json.begin_object().member("id", vehicle.id).key("base");
            if (const auto* const facility = std::get_if<FacilityId>(&vehicle.base)) {
                json.value(*facility);
            } else {
                json.value(std::get<GeoPoint>(vehicle.base));
            }
            json.member("means", routing::to_name(vehicle.means));
            const Seconds mobilisation =
                dispatch::mobilisation_at(vehicle, snapshot.zone, leave_at);
            json.member("mobilisation_s", mobilisation).end_object();
        }
    });
}

std::string of_readiness(const Snapshot& snapshot) {
    return fingerprint([&](JsonWriter& json) {
        for (const facilities::Report& report : snapshot.facilities.reports()) {
            write_report(json, report);
        }
        for (const facilities::Facility& place : snapshot.facilities.facilities()) {
            json.value(place.hours_confirmed_at);
            for (const facilities::Service& service : place.services) {
                json.value(service.last_performed_at);
            }
        }
    });
}

}  // namespace

Fingerprints planning_inputs(const Snapshot& snapshot, const CoverageRequest& request,
                             Instant leave_at) {
    Fingerprints all = snapshot.files;
    all["settlements"] = of_settlements(snapshot, request);
    all["road_changes"] = of_road_changes(snapshot, leave_at);
    if (request.transport != coverage::Transport::at_hand) {
        all["vehicles"] = of_vehicles(snapshot, leave_at);
    }
    if (request.readiness == coverage::ReadinessAssumption::as_reported) {
        all["readiness"] = of_readiness(snapshot);
    }
    return all;
}

bool counts_for_coverage(const std::string& name) {
    return name != "protocol" && name != "texts" && name != "reports";
}

}  // namespace waybourne::server
