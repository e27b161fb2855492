#include "server/json/protocol.hpp"

#include <array>

namespace waybourne::server {

namespace {

constexpr int limit_decimals = 3;

void write_field(JsonWriter& json, const triage::Field& field, const Catalogue& catalogue) {
    constexpr std::array<const char*, 4> types{"number", "step", "sign", "choice"};
    const bool is_number =
        field.type == triage::FieldType::number || field.type == triage::FieldType::step;
    json.begin_object().member("name", field.name);
    json.member("type", types.at(static_cast<std::size_t>(field.type)));
    json.member("unit", field.unit.empty() ? std::nullopt : std::optional(field.unit));
    json.key("accept");
    if (is_number) {
        json.begin_object().key("from").value(field.accept.from, limit_decimals);
        json.key("to").value(field.accept.to, limit_decimals).end_object();
    } else {
        json.null();
    }
    json.member("choices", field.choices);
    json.member("in_readings", field.of_reading != triage::ReadingPart::none);
    json.member("question", catalogue.text(std::string_view{field.question})).end_object();
}

void write_rule(JsonWriter& json, const triage::Rule& rule, const Catalogue& catalogue) {
    json.begin_object().member("id", rule.id).member("condition", rule.condition);
    json.member("suspect", catalogue.text(std::string_view{rule.suspect}));
    json.member("within_minutes",
                rule.within ? std::optional(std::int64_t{ceil_minutes(*rule.within).count()})
                            : std::nullopt);
    json.member("leave_now", rule.leave_now).member("sources", rule.sources);
    json.member("label", rule.label.empty() ? std::nullopt : std::optional(rule.label));
    json.end_object();
}

std::string_view to_name(triage::ProtocolFault::Kind kind) {
    constexpr std::array<std::string_view, 11> names{
        "unreadable",          "worse_asks_less", "later_deadline", "gap",
        "unknown_taken_as_no", "ignored",         "unreachable",    "no_source",
        "incomplete_dose",     "missing_text",    "not_proven"};
    return names.at(static_cast<std::size_t>(kind));
}

void write_fault(JsonWriter& json, const triage::ProtocolFault& fault) {
    json.begin_object().member("kind", to_name(fault.kind)).member("where", fault.where);
    json.member("explanation", fault.explanation).key("counter_example");
    if (!fault.counter_example) {
        json.null().end_object();
        return;
    }
    const triage::CounterExample& example = *fault.counter_example;
    json.begin_object().key("findings").begin_object();
    for (const auto& line : example.findings) {
        json.member(line.field, line.value);
    }
    json.end_object().key("change");
    if (example.change) {
        json.begin_object().member("field", example.change->field);
        json.member("before", example.change->before).member("after", example.change->after);
        json.end_object();
    } else {
        json.null();
    }
    json.member("lost", example.lost).member("instead", example.instead);
    json.end_object().end_object();
}

}  // namespace

void write_protocol(JsonWriter& json, const triage::Protocol& protocol,
                    const Catalogue& catalogue) {
    json.begin_object().member("id", protocol.id).member("version", protocol.version);
    json.member("sha256", protocol.sha256).member("title", protocol.title);
    json.member("note", protocol.note).key("approved_by");
    if (protocol.approved_by) {
        json.begin_object().member("name", protocol.approved_by->name);
        json.member("role", protocol.approved_by->role);
        json.member("at", protocol.approved_by->at).end_object();
    } else {
        json.null();
    }
    json.key("fields").begin_list();
    for (const triage::Field& field : protocol.fields) {
        write_field(json, field, catalogue);
    }
    json.end_list().key("rules").begin_list();
    for (const triage::Rule& rule : protocol.rules) {
        write_rule(json, rule, catalogue);
    }
    json.end_list().end_object();
}

void write_verdict(JsonWriter& json, const triage::ProtocolVerdict& verdict) {
    json.begin_object().member("passed", verdict.passed()).member("rules", verdict.rules);
    json.member("steps", verdict.steps).member("safe_by_shape", verdict.safe_by_shape);
    json.member("safe_by_enumeration", verdict.safe_by_enumeration).key("faults").begin_list();
    for (const triage::ProtocolFault& fault : verdict.faults) {
        write_fault(json, fault);
    }
    json.end_list().end_object();
}

}  // namespace waybourne::server
