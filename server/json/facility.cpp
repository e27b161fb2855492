#include "server/json/facility.hpp"

namespace waybourne::server {

namespace {

constexpr int coordinate_decimals = 7;
constexpr int chance_decimals = 4;

void write_summary_members(JsonWriter& json, const facilities::Facility& facility) {
    json.member("id", facility.id.value()).member("name", facility.name);
    json.member("kind", facility.kind);
    json.key("latitude").value(facility.point.latitude().degrees, coordinate_decimals);
    json.key("longitude").value(facility.point.longitude().degrees, coordinate_decimals);
    json.member("phones", facility.phones).member("time_zone", facility.time_zone);
    json.key("capabilities").begin_list();
    for (const facilities::Service& service : facility.services) {
        json.value(to_name(service.capability));
    }
    json.end_list();
}

void write_hours(JsonWriter& json, std::string_view name,
                 const std::optional<facilities::OpeningHours>& hours) {
    json.member(name, hours ? std::optional(hours->text()) : std::nullopt);
}

void write_service(JsonWriter& json, const facilities::Service& service) {
    json.begin_object().member("capability", to_name(service.capability));
    write_hours(json, "hours", service.hours);
    json.key("needs").begin_list();
    for (const facilities::Dependency& dependency : service.needs) {
        json.begin_object().member("resource", dependency.resource);
        json.member("units", dependency.units).end_object();
    }
    json.end_list().member("lead_s", service.lead);
    json.member("last_performed_at", service.last_performed_at).end_object();
}

void write_resource(JsonWriter& json, const facilities::Resource& resource) {
    json.begin_object().member("name", resource.name).member("kind", to_name(resource.kind));
    write_hours(json, "hours", resource.hours);
    write_hours(json, "on_call", resource.on_call);
    json.member("call_in_s", resource.call_in).end_object();
}

}  // namespace

std::string_view to_name(facilities::ReadinessState state) {
    switch (state) {
        case facilities::ReadinessState::ready:
            return "ready";
        case facilities::ReadinessState::ready_by:
            return "ready_by";
        case facilities::ReadinessState::not_ready:
            return "not_ready";
        case facilities::ReadinessState::unconfirmed:
            break;
    }
    return "unconfirmed";
}

void write_facility_summary(JsonWriter& json, const facilities::Facility& facility) {
    json.begin_object();
    write_summary_members(json, facility);
    json.end_object();
}

void write_facility(JsonWriter& json, const facilities::Facility& facility) {
    json.begin_object();
    write_summary_members(json, facility);
    write_hours(json, "hours", facility.hours);
    json.key("services").begin_list();
    for (const facilities::Service& service : facility.services) {
        write_service(json, service);
    }
    json.end_list().key("resources").begin_list();
    for (const facilities::Resource& resource : facility.resources) {
        write_resource(json, resource);
    }
    json.end_list().end_object();
}

void write_readiness(JsonWriter& json, const facilities::Readiness& readiness, const Words& words) {
    json.begin_object().member("capability", to_name(readiness.capability));
    json.member("state", to_name(readiness.state)).member("ready_at", readiness.ready_at);
    json.member("reported_at", readiness.reported_at);
    json.member("age_s",
                readiness.reported_at
                    ? std::optional(std::max(Seconds{0}, words.now() - *readiness.reported_at))
                    : std::nullopt);
    json.key("chance").value(readiness.chance, chance_decimals);
    json.member("reasons", words.texts(readiness.reasons)).end_object();
}

}  // namespace waybourne::server
