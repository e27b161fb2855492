#include "server/json/referral_event.hpp"

#include <algorithm>

#include "server/json/point.hpp"
#include "server/plain_id.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

// Limits that keep one event small (ours, no source).
constexpr std::size_t longest_reason = 200;
constexpr std::size_t most_persons = 12;
constexpr std::size_t most_treatments = 40;
constexpr std::size_t longest_id = 64;
constexpr int position_decimals = 7;

template <typename Choice, std::size_t count, typename Name>
std::vector<std::string> names_of(const std::array<Choice, count>& choices, const Name& name) {
    std::vector<std::string> names;
    names.reserve(count);
    for (const Choice choice : choices) {
        names.emplace_back(name(choice));
    }
    return names;
}

const std::vector<std::string>& step_names() {
    static const auto names =
        names_of(referral::event_kinds(), [](referral::EventKind kind) { return wire_name(kind); });
    return names;
}

/// A choice among wire names that another room keeps.
template <typename Choice>
std::optional<Choice> named(ObjectReader& body, const std::string& name,
                            std::optional<Choice> (*find)(std::string_view)) {
    const auto text = body.text(name);
    const auto found = text ? find(*text) : std::nullopt;
    if (text && !found) {
        body.refuse(name, "is not one of the names that are known here");
    }
    return found;
}

referral::PersonReport parse_person(const JsonValue& value, const std::string& pointer,
                                    Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    referral::PersonReport report;
    reader.require("person");
    report.person.kind =
        named(reader, "person", &referral::find_person_kind).value_or(referral::PersonKind::mother);
    report.person.number = reader.whole_number("number", {1, most_persons}).value_or(1);
    report.outcome = named(reader, "outcome", &referral::find_person_outcome);
    reader.finish();
    return report;
}

void write_persons(JsonWriter& json, const std::vector<referral::PersonReport>& persons) {
    json.key("persons").begin_list();
    for (const referral::PersonReport& report : persons) {
        json.begin_object().member("person", wire_name(report.person.kind));
        json.member("number", report.person.number);
        if (report.outcome) {
            json.member("outcome", wire_name(*report.outcome));
        }
        json.end_object();
    }
    json.end_list();
}

template <typename Tag>
void write_id(JsonWriter& json, std::string_view name, const std::optional<Id<Tag>>& id) {
    if (id) {
        json.member(name, id->value());
    }
}

template <typename AnyId>
std::optional<AnyId> parse_id(ObjectReader& body, const std::string& name) {
    const auto text = body.text(name);
    return text ? std::optional(AnyId{plain_id(body, name, text)}) : std::nullopt;
}

std::optional<GeoPoint> parse_position(ObjectReader& body, Errors& errors) {
    const JsonValue* value = body.take("position");
    if (value == nullptr) {
        return std::nullopt;
    }
    const std::size_t before = errors.size();
    ObjectReader reader{*value, body.pointer_to("position"), errors};
    const GeoPoint point = read_point(reader);
    reader.finish();
    return errors.size() > before ? std::nullopt : std::optional{point};
}

/// What calls and stored events have in common.
ToldEvent parse_common(ObjectReader& body, Errors& errors, Instant now) {
    ToldEvent told;
    referral::Event& event = told.event;
    body.require("step");
    event.kind = static_cast<referral::EventKind>(body.choice("step", step_names()).value_or(0));
    told.is_late = body.boolean("recorded_late").value_or(false);
    const auto occurred = body.instant("occurred_at");
    event.recorded_at = body.instant("recorded_at").value_or(now);
    event.occurred_at = occurred.value_or(event.recorded_at);
    event.place = parse_id<FacilityId>(body, "place");
    event.vehicle = parse_id<VehicleId>(body, "vehicle");
    event.takes_over = parse_id<VehicleId>(body, "takes_over");
    event.reason = body.text("reason").value_or("");
    if (event.reason.size() > longest_reason) {
        body.refuse("reason", "is longer than 200 bytes; a code or a few words are enough");
    }
    event.persons = parse_persons(body, errors);
    event.ask_again_at = body.instant("ask_again_at");
    event.alert = body.text("alert").value_or("");
    event.other = parse_id<ReferralId>(body, "other");
    event.corrects = parse_id<referral::EventId>(body, "corrects");
    told.position = parse_position(body, errors);
    told.treatments = parse_treatments(body, errors, event.occurred_at);
    return told;
}

referral::By parse_by(ObjectReader& body, Errors& errors) {
    referral::By by;
    const JsonValue* value = body.take("by");
    if (value != nullptr) {
        ObjectReader reader{*value, body.pointer_to("by"), errors};
        by.role = named(reader, "role", &referral::find_role).value_or(referral::Role::service);
        by.facility = parse_id<FacilityId>(reader, "facility");
        reader.finish();
    }
    return by;
}

}  // namespace

std::string plain_id(ObjectReader& body, const std::string& name,
                     const std::optional<std::string>& given) {
    std::string id = given.value_or("");
    if (given && (id.size() > longest_id || !is_plain_id(id))) {
        body.refuse(name, "is no id: 1 to 64 letters, digits and -_.:");
        return {};
    }
    return id;
}

std::vector<referral::PersonReport> parse_persons(ObjectReader& body, Errors& errors) {
    std::vector<referral::PersonReport> persons;
    const auto* list = body.list("persons", most_persons);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        const std::string pointer = body.pointer_to("persons") + "/" + std::to_string(i);
        const auto report = parse_person((*list)[i], pointer, errors);
        const bool is_there = std::any_of(persons.begin(), persons.end(), [&](const auto& other) {
            return other.person == report.person;
        });
        if (is_there) {
            errors.push_back({pointer, "stands twice: each person once"});
        }
        persons.push_back(report);
    }
    return persons;
}

std::vector<Treatment> parse_treatments(ObjectReader& body, Errors& errors, Instant now) {
    std::vector<Treatment> treatments;
    const auto* list = body.list("treatments", most_treatments);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        ObjectReader reader{(*list)[i], body.pointer_to("treatments") + "/" + std::to_string(i),
                            errors};
        reader.require("action");
        const std::string action = plain_id(reader, "action", reader.text("action"));
        treatments.push_back({action, reader.instant("at").value_or(now)});
        reader.finish();
    }
    return treatments;
}

void write_treatments(JsonWriter& json, const std::vector<Treatment>& treatments) {
    json.key("treatments").begin_list();
    for (const Treatment& treatment : treatments) {
        json.begin_object().member("action", treatment.action).member("at", treatment.at);
        json.end_object();
    }
    json.end_list();
}

void write_event_members(JsonWriter& json, const ToldEvent& told) {
    const referral::Event& event = told.event;
    json.member("id", event.id.value()).member("step", wire_name(event.kind));
    json.member("occurred_at", event.occurred_at).member("recorded_at", event.recorded_at);
    json.key("by").begin_object().member("role", wire_name(event.by.role));
    write_id(json, "facility", event.by.facility);
    json.end_object();
    write_id(json, "place", event.place);
    write_id(json, "vehicle", event.vehicle);
    write_id(json, "takes_over", event.takes_over);
    if (!event.reason.empty()) {
        json.member("reason", event.reason);
    }
    if (!event.persons.empty()) {
        write_persons(json, event.persons);
    }
    if (event.ask_again_at) {
        json.member("ask_again_at", *event.ask_again_at);
    }
    if (!event.alert.empty()) {
        json.member("alert", event.alert);
    }
    write_id(json, "other", event.other);
    write_id(json, "corrects", event.corrects);
    if (told.is_late) {
        json.member("recorded_late", true);
    }
    if (told.position) {
        json.key("position").begin_object();
        json.key("latitude").value(told.position->latitude().degrees, position_decimals);
        json.key("longitude").value(told.position->longitude().degrees, position_decimals);
        json.end_object();
    }
    if (!told.treatments.empty()) {
        write_treatments(json, told.treatments);
    }
}

ToldEvent parse_stored_event(const JsonValue& value) {
    Errors errors;
    ObjectReader body{value, "#", errors};
    ToldEvent told = parse_common(body, errors, Instant{});
    told.event.id = referral::EventId{body.text("id").value_or("")};
    told.event.by = parse_by(body, errors);
    throw_if_any(errors);
    return told;
}

ToldEvent parse_event_call(std::string_view json, Instant now) {
    return parse_body(json, [&](ObjectReader& body, std::vector<FieldError>& errors) {
        ToldEvent told = parse_common(body, errors, now);
        const auto id = body.text("id");
        told.event.id = referral::EventId{plain_id(body, "id", id)};
        if (told.is_late) {
            body.require("occurred_at");
            body.require("id");
        }
        if (told.event.kind == referral::EventKind::opened ||
            told.event.kind == referral::EventKind::alert_raised) {
            body.refuse("step", "is never told by a call of this kind");
        }
        return told;
    });
}

}  // namespace waybourne::server
