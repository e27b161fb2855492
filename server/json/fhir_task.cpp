#include <algorithm>

#include "server/json/fhir.hpp"
#include "server/json/internal/fhir_parts.hpp"

namespace waybourne::server {

namespace fhir {

namespace {

using referral::EventKind;
using referral::State;

/// hl7.org/fhir/R4/valueset-task-status. While she travels and nobody has answered, the task is
/// still only requested: a vehicle on its way is no answer of the place.
std::string_view status_of(const referral::Life& life) {
    switch (life.state()) {
        case State::with_the_woman:
        case State::departed:
        case State::arrived:
            return "in-progress";
        case State::received:
        case State::closed:
            return "completed";
        case State::cancelled:
            return "cancelled";
        case State::lost_contact:
        case State::refused:
            return "on-hold";
        case State::died_before_arrival:
            return "failed";
        default:
            break;
    }
    switch (life.reply) {
        case referral::Reply::accepted:
            return "accepted";
        case referral::Reply::declined:
            return "rejected";
        case referral::Reply::informed:
            return "received";
        case referral::Reply::none:
        case referral::Reply::unanswered:
            break;
    }
    return "requested";
}

/// The last reason that somebody gave for the state.
std::string reason_of(const referral::Life& life) {
    const auto told = std::find_if(life.events.rbegin(), life.events.rend(), [](const auto& event) {
        return event.kind == EventKind::declined || event.kind == EventKind::cancelled ||
               event.kind == EventKind::refused || event.kind == EventKind::died_before_arrival;
    });
    return told == life.events.rend() ? std::string() : told->reason;
}

bool has_reason(std::string_view status) {
    return status == "rejected" || status == "cancelled" || status == "on-hold" ||
           status == "failed";
}

void write_period(JsonWriter& json, const referral::Life& life) {
    const auto start = life.last(EventKind::departed);
    const auto end = life.last(EventKind::received);
    if (!start && !end) {
        return;
    }
    json.key("executionPeriod").begin_object();
    if (start) {
        json.member("start", *start);
    }
    if (end && (!start || *end >= *start)) {
        json.member("end", *end);
    }
    json.end_object();
}

std::string code_of_person(const referral::Person& person) {
    return std::string(wire_name(person.kind)) + "-" + std::to_string(person.number);
}

void write_outcomes(JsonWriter& json, const referral::Life& life) {
    const bool is_any = std::any_of(life.persons.begin(), life.persons.end(),
                                    [](const auto& one) { return one.second.has_value(); });
    if (!is_any) {
        return;
    }
    json.key("output").begin_list();
    for (const auto& [person, outcome] : life.persons) {
        if (outcome) {
            json.begin_object().key("type");
            write_concept(json, person_system, code_of_person(person), {});
            json.key("valueCodeableConcept");
            write_concept(json, outcome_system, wire_name(*outcome), {});
            json.end_object();
        }
    }
    json.end_list();
}

}  // namespace

void write_task(JsonWriter& json, const ReferralView& view,
                const std::optional<triage::Assessment>& assessment) {
    const ReferralRecord& record = view.record;
    const referral::Life& life = record.life;
    const std::string_view status = status_of(life);
    begin_resource(json, "Task", record.code, record.is_practice,
                   std::to_string(record.acted_version));
    write_identifier(json, referral_system, record.code);
    json.member("status", status);
    const std::string reason = reason_of(life);
    if (has_reason(status) && !reason.empty()) {
        json.key("statusReason").begin_object().member("text", reason).end_object();
    }
    json.key("businessStatus");
    write_concept(json, state_system, wire_name(life.state()), {});
    json.member("intent", "order").key("code");
    write_concept(json, "http://hl7.org/fhir/CodeSystem/task-code", "fulfill", {});
    write_reference(json, "focus", "ServiceRequest", record.code);
    write_reference(json, "for", "Patient", record.code);
    write_reference(json, "encounter", "Encounter", record.code);
    write_period(json, life);
    if (const auto opened = life.last(EventKind::opened)) {
        json.member("authoredOn", *opened);
    }
    if (!record.told.empty()) {
        json.member("lastModified", record.told.back().event.recorded_at);
    }
    const facilities::FacilityRegister& places = view.snapshot.facilities;
    if (life.sender && places.find_facility(*life.sender) != nullptr) {
        write_reference(json, "requester", "Organization", id_of(life.sender->value()));
    }
    if (life.asked && places.find_facility(*life.asked) != nullptr) {
        write_reference(json, "owner", "Organization", id_of(life.asked->value()));
    }
    if (assessment && assessment->earliest_deadline) {
        json.key("restriction").begin_object().key("period").begin_object();
        json.member("end", *assessment->earliest_deadline).end_object().end_object();
    }
    write_outcomes(json, life);
    json.end_object();
}

}  // namespace fhir

namespace {

/// hl7.org/fhir/R4/valueset-issue-type
std::string_view issue_type_of(int status) {
    switch (status) {
        case 400:
            return "invalid";
        case 403:
            return "forbidden";
        case 404:
            return "not-found";
        case 409:
            return "business-rule";
        case 412:
            return "conflict";
        case 422:
            return "duplicate";
        case 428:
            return "required";
        case 503:
            return "transient";
        default:
            return "processing";
    }
}

/// A sentence for each thing that is wrong; at least one, with what is possible instead.
std::vector<std::string> diagnostics_of(const Problem& problem) {
    std::vector<std::string> all;
    for (const FieldError& error : problem.errors) {
        all.push_back(error.pointer + ": " + error.detail);
    }
    if (all.empty()) {
        std::string what = problem.detail.empty() ? problem.title : problem.detail;
        for (const auto& [name, content] : problem.more) {
            if (name == "possible" || name == "state") {
                what.append("; ").append(name).append(": ").append(content);
            }
        }
        all.push_back(std::move(what));
    }
    return all;
}

}  // namespace

std::string render_fhir_task(const ReferralView& view) {
    JsonWriter json;
    fhir::write_task(json, view, assessment_of(view));
    return json.take();
}

std::string render_fhir_outcome(const Problem& problem) {
    JsonWriter json;
    json.begin_object().member("resourceType", "OperationOutcome").key("issue").begin_list();
    for (const std::string& what : diagnostics_of(problem)) {
        json.begin_object().member("severity", "error");
        json.member("code", issue_type_of(problem.status));
        json.member("diagnostics", what).end_object();
    }
    return json.end_list().end_object().take();
}

}  // namespace waybourne::server
