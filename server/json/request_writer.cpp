#include "server/json/request.hpp"
#include "server/json/writer.hpp"

namespace waybourne::server {

namespace {

/// The shortest text that reads as the same number again.
void write_number(JsonWriter& json, double number) {
    json.raw(to_json(JsonValue{number}));
}

struct ValueWriter {
    JsonWriter& json;
    void operator()(triage::Answer answer) const {
        json.value(answer == triage::Answer::yes  ? "yes"
                   : answer == triage::Answer::no ? "no"
                                                  : "unknown");
    }
    void operator()(double number) const { write_number(json, number); }
    void operator()(const std::string& text) const { json.value(text); }
};

void write_findings(JsonWriter& json, const triage::Findings& findings) {
    if (findings.at) {
        json.member("at", *findings.at);
    }
    json.key("readings").begin_list();
    for (const triage::Reading& reading : findings.readings) {
        json.begin_object().member("taken_at", reading.taken_at);
        json.member("systolic_mmhg", reading.systolic);
        json.member("diastolic_mmhg", reading.diastolic);
        json.member("pulse_per_minute", reading.pulse).end_object();
    }
    json.end_list().key("findings").begin_object();
    for (const auto& [field, value] : findings.values) {
        json.key(field);
        std::visit(ValueWriter{json}, value);
    }
    json.end_object().key("available_here").begin_list();
    for (const triage::Capability capability : findings.available_here.members()) {
        json.value(to_name(capability));
    }
    json.end_list();
}

void write_from(JsonWriter& json, const Place& from) {
    json.key("from").begin_object();
    if (const auto* facility = std::get_if<FacilityId>(&from)) {
        json.member("facility", facility->value());
    } else {
        const auto& point = std::get<GeoPoint>(from);
        write_number(json.key("latitude"), point.latitude().degrees);
        write_number(json.key("longitude"), point.longitude().degrees);
    }
    json.end_object();
}

void write_transport(JsonWriter& json, const Transport& transport) {
    json.key("transport").begin_object();
    json.member("means", means_names().at(static_cast<std::size_t>(transport.means)));
    if (transport.ready_in) {
        constexpr int seconds_of_a_minute = 60;
        json.member("ready_in_minutes",
                    std::int64_t{transport.ready_in->count() / seconds_of_a_minute});
    }
    json.end_object();
}

std::string_view name_of(referral::CallAnswer answer) {
    switch (answer) {
        case referral::CallAnswer::accepted:
            return "accepted";
        case referral::CallAnswer::refused:
            return "refused";
        case referral::CallAnswer::no_answer:
            break;
    }
    return "no_answer";
}

}  // namespace

void write_recommendation_request(JsonWriter& json, const RecommendationRequest& request) {
    json.begin_object();
    write_findings(json, request.findings);
    write_from(json, request.from);
    write_transport(json, request.transport);
    if (request.road_conditions) {
        const bool is_wet = request.road_conditions->surface == routing::Surface::wet;
        const bool is_night = request.road_conditions->light == routing::Light::night;
        json.key("road_conditions").begin_object().member("surface", is_wet ? "wet" : "dry");
        json.member("light", is_night ? "night" : "day").end_object();
    }
    json.member("can_phone", request.can_phone).key("calls").begin_list();
    for (const auto& [facility, answer] : request.calls) {
        json.begin_object().member("facility", facility.value());
        json.member("answer", name_of(answer)).end_object();
    }
    json.end_list().end_object();
}

}  // namespace waybourne::server
