#include "server/json/request.hpp"

#include <algorithm>
#include <array>

#include "server/json/object_reader.hpp"
#include "server/json/road_change.hpp"
#include "server/json/writer.hpp"
#include "vocabulary/nearest_name.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

// Limits that keep a request small; far beyond what is measured on one woman (ours, no source).
constexpr std::size_t most_readings = 100;
constexpr std::size_t most_calls = 100;
constexpr std::size_t most_closed = 20;
constexpr double most_others = 5;
constexpr double most_minutes = 24 * 60;
constexpr Range any_pressure{0, 999};

const std::vector<std::string>& capability_names() {
    static const std::vector<std::string> names = [] {
        std::vector<std::string> all;
        for (std::size_t i = 0; i < triage::capability_count; ++i) {
            all.emplace_back(to_name(static_cast<triage::Capability>(i)));
        }
        return all;
    }();
    return names;
}

triage::Reading parse_reading(const JsonValue& value, const std::string& pointer, Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    triage::Reading reading;
    reader.require("taken_at");
    reading.taken_at = reader.instant("taken_at").value_or(Instant{});
    reading.systolic = reader.whole_number("systolic_mmhg", any_pressure);
    reading.diastolic = reader.whole_number("diastolic_mmhg", any_pressure);
    reading.pulse = reader.whole_number("pulse_per_minute", any_pressure);
    reader.finish();
    return reading;
}

std::vector<triage::Reading> parse_readings(ObjectReader& body, Errors& errors) {
    std::vector<triage::Reading> readings;
    const auto* list = body.list("readings", most_readings);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        readings.push_back(parse_reading(
            (*list)[i], body.pointer_to("readings") + "/" + std::to_string(i), errors));
    }
    return readings;
}

std::optional<triage::FindingValue> to_finding(const JsonValue& value) {
    if (value.kind() == JsonKind::number) {
        return value.number();
    }
    if (value.kind() != JsonKind::text) {
        return std::nullopt;
    }
    const std::string& text = value.text();
    if (text == "yes" || text == "no") {
        return triage::to_answer(text == "yes");
    }
    if (text == "unknown") {
        return triage::Answer::unknown;
    }
    return text;
}

/// Any names: which of them exist is the protocol's to say.
std::map<std::string, triage::FindingValue, std::less<>> parse_values(ObjectReader& body,
                                                                      Errors& errors) {
    std::map<std::string, triage::FindingValue, std::less<>> values;
    const JsonValue* given = body.take("findings");
    const std::string pointer = body.pointer_to("findings");
    if (given == nullptr) {
        return values;
    }
    if (given->kind() != JsonKind::object) {
        body.refuse("findings",
                    "is " + std::string(to_words(given->kind())) + "; an object is needed");
        return values;
    }
    for (const JsonMember& member : given->members()) {
        if (member.value.kind() == JsonKind::null) {
            continue;  // left out: unknown
        }
        if (const auto value = to_finding(member.value)) {
            values.emplace(member.name, *value);
        } else {
            const std::string hint = member.value.kind() == JsonKind::boolean
                                         ? R"(; signs are "yes", "no" or "unknown")"
                                         : "; a number or a text is needed";
            errors.push_back({pointer + "/" + pointer_step(member.name),
                              "is " + std::string(to_words(member.value.kind())) + hint});
        }
    }
    return values;
}

}  // namespace

triage::CapabilitySet parse_capabilities(ObjectReader& body, const std::string& name,
                                         Errors& errors) {
    triage::CapabilitySet set;
    const auto* list = body.list(name, triage::capability_count);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        const JsonValue& item = (*list)[i];
        const auto capability =
            item.kind() == JsonKind::text ? triage::find_capability(item.text()) : std::nullopt;
        if (capability) {
            set.insert(*capability);
            continue;
        }
        errors.push_back({body.pointer_to(name) + "/" + std::to_string(i),
                          item.kind() == JsonKind::text
                              ? unknown_name(item.text(), capability_names())
                              : "is " + std::string(to_words(item.kind())) +
                                    "; the name of a capability is needed"});
    }
    return set;
}

namespace {

triage::Findings read_findings(ObjectReader& body, Errors& errors) {
    triage::Findings findings;
    findings.at = body.instant("at");
    findings.readings = parse_readings(body, errors);
    findings.values = parse_values(body, errors);
    findings.available_here = parse_capabilities(body, "available_here", errors);
    return findings;
}

}  // namespace

Place parse_place(ObjectReader& body, const std::string& name, Errors& errors) {
    Place nowhere = FacilityId{};
    body.require(name);
    const JsonValue* value = body.take(name);
    if (value == nullptr) {
        return nowhere;
    }
    const std::size_t before = errors.size();
    ObjectReader reader{*value, body.pointer_to(name), errors};
    const auto facility = reader.text("facility");
    const auto latitude = reader.number("latitude", {-90, 90});
    const auto longitude = reader.number("longitude", {-180, 180});
    reader.finish();
    if (errors.size() > before) {
        return nowhere;
    }
    const bool is_point = latitude && longitude;
    if (facility.has_value() == (latitude || longitude) || (!facility && !is_point)) {
        body.refuse(name, R"(needs either "facility", or "latitude" and "longitude")");
        return nowhere;
    }
    if (facility) {
        return FacilityId{*facility};
    }
    return GeoPoint{Latitude{*latitude}, Longitude{*longitude}};
}

std::optional<routing::RoadConditions> parse_conditions(ObjectReader& body, Errors& errors) {
    static const std::array<std::string, 2> surfaces{"dry", "wet"};
    static const std::array<std::string, 2> lights{"day", "night"};
    const JsonValue* value = body.take("road_conditions");
    if (value == nullptr) {
        return std::nullopt;
    }
    ObjectReader reader{*value, body.pointer_to("road_conditions"), errors};
    reader.require("surface");
    reader.require("light");
    const auto surface = reader.choice("surface", surfaces);
    const auto light = reader.choice("light", lights);
    reader.finish();
    return routing::RoadConditions{static_cast<routing::Surface>(surface.value_or(0)),
                                   static_cast<routing::Light>(light.value_or(0))};
}

namespace {

Transport parse_transport(ObjectReader& body, Errors& errors) {
    Transport transport;
    const JsonValue* value = body.take("transport");
    if (value == nullptr) {
        return transport;
    }
    ObjectReader reader{*value, body.pointer_to("transport"), errors};
    transport.means = static_cast<routing::Means>(
        reader.choice("means", means_names()).value_or(static_cast<std::size_t>(transport.means)));
    constexpr double minutes_of_two_days = 2 * 24 * 60;
    if (const auto minutes = reader.whole_number("ready_in_minutes", {0, minutes_of_two_days})) {
        transport.ready_in = std::chrono::minutes{*minutes};
    }
    reader.finish();
    return transport;
}

std::map<FacilityId, referral::CallAnswer> parse_calls(ObjectReader& body, Errors& errors) {
    static const std::array<std::string, 3> answers{"accepted", "refused", "no_answer"};
    std::map<FacilityId, referral::CallAnswer> calls;
    const auto* list = body.list("calls", most_calls);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        ObjectReader reader{(*list)[i], body.pointer_to("calls") + "/" + std::to_string(i), errors};
        reader.require("facility");
        reader.require("answer");
        const auto facility = reader.text("facility");
        const auto answer = reader.choice("answer", answers);
        reader.finish();
        if (facility && answer &&
            !calls.emplace(FacilityId{*facility}, static_cast<referral::CallAnswer>(*answer))
                 .second) {
            reader.refuse("facility", "stands twice: one answer per facility");
        }
    }
    return calls;
}

}  // namespace

routing::Means read_means(ObjectReader& body) {
    return static_cast<routing::Means>(
        body.choice("means", means_names())
            .value_or(static_cast<std::size_t>(routing::Means::car)));
}

namespace {

/// From where to where, with what, when and on which roads.
RouteRequest read_way(ObjectReader& body, Errors& errors) {
    RouteRequest request;
    request.from = parse_place(body, "from", errors);
    request.to = parse_place(body, "to", errors);
    request.means = read_means(body);
    request.leave_at = body.instant("leave_at");
    request.road_conditions = parse_conditions(body, errors);
    return request;
}

}  // namespace

const std::vector<std::string>& means_names() {
    static const std::vector<std::string> names{"on_foot", "motorcycle", "car", "four_wheel_drive"};
    return names;
}

triage::Findings parse_findings(std::string_view json) {
    return parse_body(json, read_findings);
}

RecommendationRequest read_recommendation_request(const JsonValue& value,
                                                  const std::string& pointer, Errors& errors) {
    ObjectReader body{value, pointer, errors};
    RecommendationRequest request;
    request.findings = read_findings(body, errors);
    request.from = parse_place(body, "from", errors);
    request.transport = parse_transport(body, errors);
    request.road_conditions = parse_conditions(body, errors);
    request.can_phone = body.boolean("can_phone").value_or(true);
    request.calls = parse_calls(body, errors);
    body.finish();
    return request;
}

RecommendationRequest parse_recommendation_request(std::string_view json) {
    const JsonValue value = parse_json(json);
    Errors errors;
    RecommendationRequest request = read_recommendation_request(value, "#", errors);
    throw_if_any(errors);
    return request;
}

RouteRequest parse_route_request(std::string_view json) {
    return parse_body(json, read_way);
}

AlternativesRequest parse_alternatives_request(std::string_view json) {
    return parse_body(json, [&](ObjectReader& body, std::vector<FieldError>& errors) {
        AlternativesRequest request;
        request.way = read_way(body, errors);
        const auto* closed = body.list("closed", most_closed);
        for (std::size_t i = 0; closed != nullptr && i < closed->size(); ++i) {
            request.closed.push_back(read_where(
                (*closed)[i], body.pointer_to("closed") + "/" + std::to_string(i), errors));
        }
        if (const auto most = body.whole_number("most_others", {0, most_others})) {
            request.most_others = static_cast<std::size_t>(*most);
        }
        return request;
    });
}

ReachRequest parse_reach_request(std::string_view json) {
    static const std::array<std::string, 2> judges{"typical", "allow"};
    const JsonValue value = parse_json(json);
    Errors errors;
    ObjectReader body{value, "#", errors};
    ReachRequest request;
    request.is_from = value.find("to") == nullptr;
    if (!request.is_from && value.find("from") != nullptr) {
        body.refuse("to", "give either from or to");
        body.take("from");
    }
    request.place = parse_place(body, request.is_from ? "from" : "to", errors);
    body.require("within_minutes");
    request.within =
        std::chrono::minutes{body.whole_number("within_minutes", {1, most_minutes}).value_or(1)};
    request.judged_by =
        static_cast<routing::JudgedBy>(body.choice("judged_by", judges).value_or(0));
    request.means = read_means(body);
    request.leave_at = body.instant("leave_at");
    request.road_conditions = parse_conditions(body, errors);
    body.finish();
    throw_if_any(errors);
    return request;
}

}  // namespace waybourne::server
