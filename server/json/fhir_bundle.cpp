#include <algorithm>

#include "server/json/fhir.hpp"
#include "server/json/internal/fhir_parts.hpp"

namespace waybourne::server {

namespace fhir {

namespace {

using referral::EventKind;
using referral::State;

/// What the whole bundle is made from.
struct Source {
    const ReferralView& view;
    const referral::Life& life;
    std::optional<triage::Assessment> assessment;
    Words words;
    const std::string& code() const { return view.record.code; }
    bool is_practice() const { return view.record.is_practice; }
};

/// Every place that is named, each once.
std::vector<const facilities::Facility*> places_of(const Source& from) {
    std::vector<const facilities::Facility*> places;
    for (const auto& id : {from.life.sender, from.life.asked, from.life.at}) {
        const auto* place = id ? from.view.snapshot.facilities.find_facility(*id) : nullptr;
        if (place != nullptr && std::find(places.begin(), places.end(), place) == places.end()) {
            places.push_back(place);
        }
    }
    return places;
}

bool is_known(const Source& from, const std::optional<FacilityId>& id) {
    return id && from.view.snapshot.facilities.find_facility(*id) != nullptr;
}

void write_patient(JsonWriter& json, const Source& from) {
    write_entry(json, {"Patient", from.code()}, [&] {
        begin_resource(json, "Patient", from.code(), from.is_practice());
        write_identifier(json, referral_system, from.code());
        json.end_object();
    });
}

void write_telecom(JsonWriter& json, const std::vector<std::string>& phones) {
    if (phones.empty()) {
        return;
    }
    json.key("telecom").begin_list();
    int rank = 0;
    for (const std::string& phone : phones) {
        json.begin_object().member("system", "phone").member("value", phone);
        json.member("rank", ++rank).end_object();
    }
    json.end_list();
}

void write_place(JsonWriter& json, const Source& from, const facilities::Facility& place) {
    const std::string id = id_of(place.id.value());
    write_entry(json, {"Organization", id}, [&] {
        begin_resource(json, "Organization", id, from.is_practice());
        write_identifier(json, facility_system, place.id.value());
        json.member("name", place.name);
        write_telecom(json, place.phones);
        json.end_object();
    });
    write_entry(json, {"Location", id}, [&] {
        constexpr int decimals = 7;
        begin_resource(json, "Location", id, from.is_practice());
        write_identifier(json, facility_system, place.id.value());
        json.member("name", place.name).member("mode", "instance").key("position").begin_object();
        json.key("longitude").value(place.point.longitude().degrees, decimals);
        json.key("latitude").value(place.point.latitude().degrees, decimals);
        json.end_object();
        write_reference(json, "managingOrganization", "Organization", id);
        json.end_object();
    });
}

/// hl7.org/fhir/R4/valueset-request-status
std::string_view request_status(const referral::Life& life) {
    switch (life.state()) {
        case State::received:
        case State::closed:
            return "completed";
        case State::cancelled:
        case State::died_before_arrival:
            return "revoked";
        case State::lost_contact:
        case State::refused:
            return "on-hold";
        default:
            return "active";
    }
}

/// Which care is asked for: every need with its alternatives.
void write_needs(JsonWriter& json, const Source& from) {
    json.key("orderDetail").begin_list();
    for (const triage::Need& need : from.assessment->needs) {
        json.begin_object().key("coding").begin_list();
        for (const triage::Capability capability : need.any_of.members()) {
            write_coding(json, capability_system, to_name(capability),
                         from.words.capability(capability));
        }
        json.end_list().member("text", from.words.capabilities(need.any_of)).end_object();
    }
    json.end_list();
}

void write_reasons(JsonWriter& json, const Source& from) {
    json.key("reasonCode").begin_list();
    for (const triage::Suspicion& suspicion : from.assessment->suspected) {
        write_concept(json, condition_system, suspicion.condition, from.words.text(suspicion.text));
    }
    json.end_list();
}

void write_assessed(JsonWriter& json, const Source& from) {
    if (!from.assessment) {
        return;
    }
    const triage::Assessment& assessment = *from.assessment;
    if (assessment.earliest_deadline) {
        json.member("occurrenceDateTime", *assessment.earliest_deadline);
    }
    if (!assessment.needs.empty()) {
        write_needs(json, from);
    }
    if (!assessment.suspected.empty()) {
        write_reasons(json, from);
    }
    if (!assessment.cautions.empty()) {
        json.key("note").begin_list();
        for (const std::string& caution : from.words.texts(assessment.cautions)) {
            json.begin_object().member("text", caution).end_object();
        }
        json.end_list();
    }
}

void write_observations_of(JsonWriter& json, const Source& from) {
    const auto ids = observation_ids(from.view);
    if (ids.empty()) {
        return;
    }
    json.key("supportingInfo").begin_list();
    for (const std::string& id : ids) {
        write_reference(json, "Observation", id);
    }
    json.end_list();
}

void write_performer(JsonWriter& json, const Source& from) {
    if (!is_known(from, from.life.asked)) {
        return;
    }
    const std::string id = id_of(from.life.asked->value());
    json.key("performer").begin_list();
    write_reference(json, "Organization", id);
    json.end_list().key("locationReference").begin_list();
    write_reference(json, "Location", id);
    json.end_list();
}

/// stat: she must leave at once. urgent: she is referred, every such woman is. None: not known.
void write_priority(JsonWriter& json, const Source& from) {
    if (from.assessment && (from.assessment->leave_now || from.assessment->refer)) {
        json.member("priority", from.assessment->leave_now ? "stat" : "urgent");
    }
}

void write_request(JsonWriter& json, const Source& from) {
    write_entry(json, {"ServiceRequest", from.code()}, [&] {
        begin_resource(json, "ServiceRequest", from.code(), from.is_practice());
        write_identifier(json, referral_system, from.code());
        json.member("status", request_status(from.life)).member("intent", "order");
        write_priority(json, from);
        json.key("code").begin_object();
        json.member("text", from.words.text({"server.fhir.referral", {}})).end_object();
        write_reference(json, "subject", "Patient", from.code());
        write_reference(json, "encounter", "Encounter", from.code());
        if (const auto opened = from.life.last(EventKind::opened)) {
            json.member("authoredOn", *opened);
        }
        if (is_known(from, from.life.sender)) {
            write_reference(json, "requester", "Organization", id_of(from.life.sender->value()));
        }
        write_performer(json, from);
        write_observations_of(json, from);
        write_assessed(json, from);
        json.end_object();
    });
}

/// hl7.org/fhir/R4/valueset-encounter-status: the stay at the place she is sent to.
std::string_view encounter_status(const referral::Life& life) {
    if (life.end == referral::End::cancelled || life.end == referral::End::died) {
        return "cancelled";
    }
    if (life.end == referral::End::closed) {
        return "finished";
    }
    if (life.journey == referral::Journey::received) {
        return "in-progress";
    }
    return life.is_there() ? "arrived" : "planned";
}

void write_encounter(JsonWriter& json, const Source& from) {
    write_entry(json, {"Encounter", from.code()}, [&] {
        begin_resource(json, "Encounter", from.code(), from.is_practice());
        json.member("status", encounter_status(from.life)).key("class");
        write_coding(json, "http://terminology.hl7.org/CodeSystem/v3-ActCode", "EMER", "emergency");
        write_reference(json, "subject", "Patient", from.code());
        json.key("basedOn").begin_list();
        write_reference(json, "ServiceRequest", from.code());
        json.end_list();
        if (const auto arrived = from.life.last(EventKind::arrived)) {
            json.key("period").begin_object().member("start", *arrived).end_object();
        }
        const auto& place = from.life.at ? from.life.at : from.life.asked;
        if (is_known(from, place)) {
            const std::string id = id_of(place->value());
            json.key("location").begin_list().begin_object();
            write_reference(json, "location", "Location", id);
            json.end_object().end_list();
            write_reference(json, "serviceProvider", "Organization", id);
        }
        json.end_object();
    });
}

}  // namespace

}  // namespace fhir

std::string render_fhir_bundle(const ReferralView& view) {
    const fhir::Source from{view, view.record.life, assessment_of(view),
                            Words{view.snapshot.catalogue, view.snapshot.zone, view.now}};
    JsonWriter json;
    fhir::begin_resource(json, "Bundle", view.record.code, view.record.is_practice,
                         std::to_string(view.record.acted_version));
    // a Bundle has one identifier, not a list of them
    json.key("identifier").begin_object().member("system", fhir::referral_system);
    json.member("value", view.record.code).end_object();
    json.member("type", "collection").member("timestamp", view.now).key("entry").begin_list();
    fhir::write_request(json, from);
    fhir::write_entry(json, {"Task", view.record.code},
                      [&] { fhir::write_task(json, view, from.assessment); });
    fhir::write_patient(json, from);
    fhir::write_encounter(json, from);
    fhir::write_observations(json, view);
    for (const facilities::Facility* place : fhir::places_of(from)) {
        fhir::write_place(json, from, *place);
    }
    return json.end_list().end_object().take();
}

}  // namespace waybourne::server
