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
    for (auto event = life.events.rbegin(); event != life.events.rend(); ++event) {
        const bool tells_why =
            event->kind == EventKind::declined || event->kind == EventKind::cancelled ||
            event->kind == EventKind::refused || event->kind == EventKind::died_before_arrival;
        if (tells_why) {
            return event->reason;
        }
    }
    return {};
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

std::string render_fhir_task(const ReferralView& view) {
    JsonWriter json;
    fhir::write_task(json, view, assessment_of(view));
    return json.take();
}

std::string render_fhir_outcome(const Problem& problem) {
    // hl7.org/fhir/R4/valueset-issue-type
    const char* code = problem.status == 400   ? "invalid"
                       : problem.status == 403 ? "forbidden"
                       : problem.status == 404 ? "not-found"
                       : problem.status == 409 ? "business-rule"
                       : problem.status == 412 ? "conflict"
                       : problem.status == 422 ? "duplicate"
                       : problem.status == 428 ? "required"
                       : problem.status == 503 ? "transient"
                                               : "processing";
    JsonWriter json;
    json.begin_object().member("resourceType", "OperationOutcome").key("issue").begin_list();
    const auto write = [&](const std::string& what) {
        json.begin_object().member("severity", "error").member("code", code);
        json.member("diagnostics", what).end_object();
    };
    if (problem.errors.empty()) {
        std::string what = problem.detail.empty() ? problem.title : problem.detail;
        for (const auto& [name, content] : problem.more) {
            if (name == "possible" || name == "state") {
                what += "; " + name + ": " + content;
            }
        }
        write(what);
    }
    for (const FieldError& error : problem.errors) {
        write(error.pointer + ": " + error.detail);
    }
    return json.end_list().end_object().take();
}

}  // namespace waybourne::server
