#include <algorithm>
#include <array>

#include "server/json/difference.hpp"
#include "server/json/fhir.hpp"
#include "server/json/internal/fhir_parts.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;
using referral::EventKind;

constexpr std::size_t most_codings = 10;
constexpr std::size_t most_outputs = 12;
constexpr std::size_t longest_reason = 200;

/// Members that say nothing new: the server keeps its own.
constexpr std::array ignored{"meta",        "text",          "lastModified", "executionPeriod",
                             "restriction", "implicitRules", "language"};
/// What only we decide.
constexpr std::array ours_alone{"id",  "identifier", "intent", "code",      "focus",
                                "for", "encounter",  "owner",  "requester", "authoredOn"};

/// A concept as far as we read it: the code of one system, and the words.
struct Concept {
    std::optional<std::string> code;
    std::string text;
    bool has_other_codings = false;
};

void read_coding(const JsonValue& value, const std::string& pointer, std::string_view system,
                 Concept& concept_read, Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    const std::string named = reader.text("system").value_or("");
    const auto code = reader.text("code");
    reader.text("display");
    reader.text("version");
    reader.boolean("userSelected");
    reader.finish();
    if (named == system) {
        concept_read.code = code;
    } else {
        concept_read.has_other_codings = true;
    }
}

std::optional<Concept> read_concept(ObjectReader& body, const std::string& name,
                                    std::string_view system, Errors& errors) {
    const JsonValue* value = body.take(name);
    if (value == nullptr) {
        return std::nullopt;
    }
    Concept found;
    ObjectReader reader{*value, body.pointer_to(name), errors};
    found.text = reader.text("text").value_or("");
    const auto* codings = reader.list("coding", most_codings);
    for (std::size_t i = 0; codings != nullptr && i < codings->size(); ++i) {
        read_coding((*codings)[i], reader.pointer_to("coding") + "/" + std::to_string(i), system,
                    found, errors);
    }
    reader.finish();
    return found;
}

void check_ours(ObjectReader& body, const JsonValue& ours) {
    for (const std::string name : ours_alone) {
        const JsonValue* given = body.take(name);
        const JsonValue* kept = ours.find(name);
        if (given == nullptr) {
            continue;
        }
        std::vector<Difference> differences;
        if (kept != nullptr) {
            add_differences(*kept, *given, "", differences);
        }
        if (kept == nullptr || !differences.empty()) {
            body.refuse(name, "is not what this server gave; it cannot be changed here");
        }
    }
}

std::optional<referral::PersonReport> read_output(const JsonValue& value,
                                                  const std::string& pointer, Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    const auto who = read_concept(reader, "type", fhir::person_system, errors);
    const auto how = read_concept(reader, "valueCodeableConcept", fhir::outcome_system, errors);
    reader.finish();
    const std::string person = who && who->code ? *who->code : "";
    const std::size_t dash = person.find('-');
    const auto kind = referral::find_person_kind(person.substr(0, dash));
    const std::string number = dash == std::string::npos ? "1" : person.substr(dash + 1);
    const bool is_number = number.size() == 1 && number[0] >= '1' && number[0] <= '9';
    const auto outcome =
        how && how->code ? referral::find_person_outcome(*how->code) : std::nullopt;
    if (!kind || !is_number || !outcome) {
        errors.push_back({pointer, std::string("needs a person of ") + fhir::person_system +
                                       " (mother-1, baby-1, …) and an outcome of " +
                                       fhir::outcome_system});
        return std::nullopt;
    }
    return referral::PersonReport{{*kind, number[0] - '0'}, outcome};
}

std::vector<referral::PersonReport> read_outputs(ObjectReader& body, Errors& errors) {
    std::vector<referral::PersonReport> persons;
    const auto* list = body.list("output", most_outputs);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        const auto report =
            read_output((*list)[i], body.pointer_to("output") + "/" + std::to_string(i), errors);
        if (report) {
            persons.push_back(*report);
        }
    }
    return persons;
}

/// The step that a state of ours begins; none for states that no single step makes.
std::optional<EventKind> step_to(referral::State state) {
    switch (state) {
        case referral::State::opened:
        case referral::State::diverted:
            return std::nullopt;
        default:
            return referral::find_event_kind(wire_name(state));
    }
}

/// The step that a FHIR status means when no state of ours is named with it.
std::optional<EventKind> step_for(std::string_view status, bool has_outcomes) {
    if (status == "received") {
        return EventKind::informed;
    }
    if (status == "accepted") {
        return EventKind::accepted;
    }
    if (status == "rejected") {
        return EventKind::declined;
    }
    if (status == "in-progress") {
        return EventKind::arrived;
    }
    if (status == "completed") {
        return has_outcomes ? EventKind::closed : EventKind::received;
    }
    if (status == "cancelled") {
        return EventKind::cancelled;
    }
    return std::nullopt;
}

std::string text_in(const JsonValue& ours, std::string_view name) {
    const JsonValue* found = ours.find(name);
    return found != nullptr && found->kind() == JsonKind::text ? found->text() : "";
}

/// The state that the Task has now, from our own rendering of it.
std::string state_in(const JsonValue& ours) {
    const JsonValue* status = ours.find("businessStatus");
    const JsonValue* codings = status == nullptr ? nullptr : status->find("coding");
    return codings == nullptr || codings->kind() != JsonKind::list || codings->items().empty()
               ? ""
               : text_in(codings->items().front(), "code");
}

/// What somebody tells, read member by member.
struct ToldTask {
    std::string status;
    std::optional<Concept> state;
    std::optional<Concept> reason;
    std::vector<referral::PersonReport> persons;
};

ToldTask read_told(ObjectReader& body, const JsonValue& ours, Errors& errors) {
    ToldTask told;
    body.require("resourceType");
    body.require("status");
    if (body.text("resourceType").value_or("Task") != "Task") {
        body.refuse("resourceType", "a Task is needed");
    }
    for (const char* name : ignored) {
        body.take(name);
    }
    check_ours(body, ours);
    told.status = body.text("status").value_or("");
    told.state = read_concept(body, "businessStatus", fhir::state_system, errors);
    told.reason = read_concept(body, "statusReason", fhir::reason_system, errors);
    told.persons = read_outputs(body, errors);
    body.finish();
    return told;
}

/// None when it says what is so already.
std::optional<EventKind> step_of(const ToldTask& told, const JsonValue& ours, ObjectReader& body) {
    const std::string now = state_in(ours);
    const bool is_same_status = told.status == text_in(ours, "status");
    const bool names_a_state = told.state && told.state->code != now;
    std::optional<EventKind> step;
    if (names_a_state) {
        const auto state =
            told.state->code ? referral::find_state(*told.state->code) : std::nullopt;
        step = state ? step_to(*state) : std::nullopt;
        if (!step) {
            body.refuse("businessStatus", std::string("needs a state of ") + fhir::state_system +
                                              " that a step leads to");
        }
    } else if (!is_same_status || (told.status == "completed" && !told.persons.empty() &&
                                   now == wire_name(referral::State::received))) {
        step = step_for(told.status, !told.persons.empty());
        if (!step) {
            body.refuse("status", "\"" + told.status +
                                      "\" is none that means a step here; name the state in "
                                      "businessStatus");
        }
    }
    return step;
}

}  // namespace

std::optional<ToldEvent> parse_fhir_task(std::string_view json, std::string_view ours,
                                         Instant now) {
    const JsonValue value = parse_json(json);
    const JsonValue kept = parse_json(ours);
    Errors errors;
    ObjectReader body{value, "#", errors};
    const ToldTask told = read_told(body, kept, errors);
    throw_if_any(errors);
    const auto step = step_of(told, kept, body);
    throw_if_any(errors);
    if (!step) {
        return std::nullopt;
    }
    ToldEvent event;
    event.event.kind = *step;
    event.event.occurred_at = now;
    event.event.recorded_at = now;
    if (told.reason) {
        event.event.reason = told.reason->code.value_or(told.reason->text);
    }
    if (event.event.reason.size() > longest_reason) {
        body.refuse("statusReason", "is longer than 200 bytes; a code or a few words are enough");
    }
    if (*step == EventKind::closed || *step == EventKind::died_before_arrival) {
        event.event.persons = told.persons;
    }
    throw_if_any(errors);
    return event;
}

}  // namespace waybourne::server
