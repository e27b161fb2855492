#include <algorithm>

#include "facilities/internal/strict_json.hpp"
#include "facilities/register_file.hpp"

namespace waybourne::facilities {

namespace {

Json to_json(const Resource& resource) {
    Json json{{"kind", to_name(resource.kind)}};
    if (resource.hours) {
        json["hours"] = resource.hours->text();
    }
    if (resource.on_call) {
        json["on_call"] = resource.on_call->text();
        json["call_in_minutes"] = ceil_minutes(resource.call_in).count();
    }
    return json;
}

Json to_json(const Service& service) {
    Json json = Json::object();
    if (service.hours) {
        json["hours"] = service.hours->text();
    }
    for (const Dependency& need : service.needs) {
        json["needs"].push_back(need.units == 1
                                    ? Json(need.resource)
                                    : Json{{"resource", need.resource}, {"units", need.units}});
    }
    if (service.lead != Seconds{0}) {
        json["lead_minutes"] = ceil_minutes(service.lead).count();
    }
    if (service.last_performed_at) {
        json["last_performed_at"] = to_rfc3339(*service.last_performed_at);
    }
    return json;
}

Json to_json(const Facility& facility) {
    Json own{{"name", facility.name},
             {"kind", facility.kind},
             {"phones", facility.phones},
             {"time_zone", facility.time_zone}};
    if (facility.hours) {
        own["hours"] = facility.hours->text();
    }
    if (facility.hours_confirmed_at) {
        own["hours_confirmed_at"] = to_rfc3339(*facility.hours_confirmed_at);
    }
    for (const Resource& resource : facility.resources) {
        own["resources"][resource.name] = to_json(resource);
    }
    for (const Service& service : facility.services) {
        own["services"][std::string(triage::to_name(service.capability))] = to_json(service);
    }
    const Json point =
        Json::array({facility.point.longitude().degrees, facility.point.latitude().degrees});
    return {{"type", "Feature"},
            {"id", facility.id.value()},
            {"geometry", {{"type", "Point"}, {"coordinates", point}}},
            {"properties", std::move(own)}};
}

std::string to_date(LocalDay day) {
    const Instant midnight{day.time_since_epoch()};
    return to_rfc3339(midnight).substr(0, 10);
}

}  // namespace

std::string to_geojson(std::span<const Facility> facilities, const Holidays& holidays) {
    Json file{{"type", "FeatureCollection"}, {"holidays", Json::array()}};
    for (const LocalDay day : holidays) {
        file["holidays"].push_back(to_date(day));
    }
    file["features"] = Json::array();
    for (const Facility& facility : facilities) {
        file["features"].push_back(to_json(facility));
    }
    return file.dump(2) + "\n";
}

}  // namespace waybourne::facilities
