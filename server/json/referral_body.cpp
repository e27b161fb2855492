#include "server/json/referral_body.hpp"

#include <algorithm>

#include "referral/referral_code.hpp"
#include "server/json/kept_answer.hpp"
#include "server/json/outgoing_message.hpp"
#include "server/json/recommendation.hpp"
#include "server/json/request.hpp"
#include "server/json/route.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

constexpr double most_seconds = 1e9;
constexpr double most_counted = 1e15;

void write_made_from(JsonWriter& json, const MadeFrom& from) {
    json.begin_object().member("map", from.map_sha256);
    json.key("protocol").begin_object().member("id", from.protocol_id);
    json.member("version", from.protocol_version).member("sha256", from.protocol_sha256);
    json.end_object().member("facilities", from.facilities).member("reports", from.reports);
    json.member("journal", std::int64_t{from.sequence}).end_object();
}

MadeFrom parse_made_from(ObjectReader& body, Errors& errors) {
    MadeFrom from;
    const JsonValue* value = body.take("made_from");
    if (value == nullptr) {
        return from;
    }
    ObjectReader reader{*value, body.pointer_to("made_from"), errors};
    from.map_sha256 = reader.text("map").value_or("");
    if (const JsonValue* protocol = reader.take("protocol")) {
        ObjectReader inner{*protocol, reader.pointer_to("protocol"), errors};
        from.protocol_id = inner.text("id").value_or("");
        from.protocol_version = inner.text("version").value_or("");
        from.protocol_sha256 = inner.text("sha256").value_or("");
    }
    const auto count = [&](const char* name) {
        return reader.number(name, {0, most_counted}).value_or(0);
    };
    from.facilities = static_cast<std::size_t>(count("facilities"));
    from.reports = static_cast<std::size_t>(count("reports"));
    from.sequence = static_cast<journal::Sequence>(count("journal"));
    return from;
}

std::optional<std::pair<Instant, Instant>> parse_pair(ObjectReader& body, const std::string& name,
                                                      Errors& errors) {
    const JsonValue* value = body.take(name);
    if (value == nullptr) {
        return std::nullopt;
    }
    ObjectReader reader{*value, body.pointer_to(name), errors};
    return std::pair{reader.instant("typical").value_or(Instant{}),
                     reader.instant("allow").value_or(Instant{})};
}

std::optional<routing::TravelTime> parse_travel_time(ObjectReader& body, Errors& errors) {
    const JsonValue* value = body.take("travel_time_s");
    if (value == nullptr) {
        return std::nullopt;
    }
    ObjectReader reader{*value, body.pointer_to("travel_time_s"), errors};
    routing::TravelTime time;
    time.typical = Seconds{reader.whole_number("typical", {0, most_seconds}).value_or(0)};
    time.allow = Seconds{reader.whole_number("allow", {0, most_seconds}).value_or(0)};
    return time;
}

std::vector<GeoPoint> parse_line(ObjectReader& body) {
    std::vector<GeoPoint> line;
    const JsonValue* value = body.take("geometry");
    const JsonValue* list = value == nullptr ? nullptr : value->find("coordinates");
    if (list == nullptr || list->kind() != JsonKind::list) {
        if (value != nullptr) {
            body.refuse("geometry", "has no list of coordinates");
        }
        return line;
    }
    for (const JsonValue& pair : list->items()) {
        const auto point = find_position(pair);
        if (!point) {
            body.refuse("geometry", "holds something else than [longitude, latitude]");
            return {};
        }
        line.push_back(*point);
    }
    return line;
}

PlannedWay parse_way(const JsonValue& value, Errors& errors) {
    ObjectReader body{value, "#/way", errors};
    PlannedWay way;
    way.to = FacilityId{body.text("to").value_or("")};
    if (const auto onward = body.text("onward")) {
        way.onward = FacilityId{*onward};
    }
    way.means = static_cast<routing::Means>(body.choice("means", means_names()).value_or(2));
    way.planned_at = body.instant("planned_at").value_or(Instant{});
    way.travel_time = parse_travel_time(body, errors);
    if (const auto arrival = parse_pair(body, "arrival", errors)) {
        way.arrival = referral::Expected{arrival->first, arrival->second};
    }
    way.leave_by = body.instant("leave_by");
    way.deadline = body.instant("deadline");
    way.made_from = parse_made_from(body, errors);
    way.line = parse_line(body);
    return way;
}

void write_before(JsonWriter& json, const std::vector<dispatch::Stretch>& stretches) {
    json.begin_list();
    for (const dispatch::Stretch& stretch : stretches) {
        json.begin_object();
        json.member("vehicle",
                    stretch.vehicle ? std::optional(stretch.vehicle->value()) : std::nullopt);
        json.member("means", to_name(stretch.means));
        json.member("leads_to", stretch.leads_to_meeting ? "meeting" : "her");
        json.key("geometry");
        write_line(json, stretch.line);
        json.end_object();
    }
    json.end_list();
}

/// Entries of earlier programs have none.
std::vector<dispatch::Stretch> parse_before(ObjectReader& body, Errors& errors) {
    std::vector<dispatch::Stretch> stretches;
    constexpr std::size_t most_stretches = 32;
    const auto* list = body.list("before", most_stretches);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        ObjectReader reader{(*list)[i], body.pointer_to("before") + "/" + std::to_string(i),
                            errors};
        dispatch::Stretch stretch;
        if (const auto vehicle = reader.text("vehicle")) {
            stretch.vehicle = VehicleId{*vehicle};
        }
        stretch.means =
            static_cast<routing::Means>(reader.choice("means", means_names()).value_or(2));
        stretch.leads_to_meeting = reader.text("leads_to") == "meeting";
        stretch.line = parse_line(reader);
        stretches.push_back(std::move(stretch));
    }
    return stretches;
}

/// What `write_accepted` wrote.
AcceptedTransport parse_accepted(const JsonValue& value, Errors& errors) {
    ObjectReader body{value, "#/transport", errors};
    AcceptedTransport transport;
    transport.kind = dispatch::find_way_kind(body.text("kind").value_or(""))
                         .value_or(dispatch::WayKind::own_transport);
    const auto* vehicles = body.list("vehicles", 2);
    for (std::size_t i = 0; vehicles != nullptr && i < vehicles->size(); ++i) {
        if ((*vehicles)[i].kind() == JsonKind::text) {
            transport.vehicles.emplace_back((*vehicles)[i].text());
        }
    }
    transport.waits = body.boolean("waits").value_or(false);
    transport.sets_out = body.instant("sets_out");
    if (const auto with_her = parse_pair(body, "with_her", errors)) {
        transport.with_her = referral::Expected{with_her->first, with_her->second};
    }
    if (const JsonValue* meets_at = body.take("meets_at")) {
        transport.meets_at = find_position(*meets_at);
    }
    if (const JsonValue* fetch_at = body.take("fetch_at")) {
        transport.fetch_at = find_position(*fetch_at);
    }
    if (const auto meets = parse_pair(body, "meets", errors)) {
        transport.meets = referral::Expected{meets->first, meets->second};
    }
    constexpr std::size_t most_on_tour = 16;
    const auto* tour = body.list("tour", most_on_tour);
    for (std::size_t i = 0; tour != nullptr && i < tour->size(); ++i) {
        if ((*tour)[i].kind() == JsonKind::text) {
            transport.tour.push_back((*tour)[i].text());
        }
    }
    transport.accepted_at = body.instant("accepted_at").value_or(Instant{});
    return transport;
}

std::optional<referral::Channel> parse_channel(ObjectReader& body) {
    static const std::vector<std::string> names{"page", "text", "telephone"};
    const auto found = body.choice("channel", names);
    return found ? std::optional(static_cast<referral::Channel>(*found)) : std::nullopt;
}

std::optional<std::string> parse_code(ObjectReader& body) {
    const auto text = body.text("code");
    if (!text) {
        return std::nullopt;
    }
    try {
        return referral::parse_referral_code(*text);
    } catch (const InputError& error) {
        body.refuse("code", error.what());
        return std::nullopt;
    }
}

void parse_opening_times(ObjectReader& body, Opening& opening, Instant now) {
    opening.is_late = body.boolean("recorded_late").value_or(false);
    if (opening.is_late) {
        body.require("opened_at");
    }
    opening.opened_at = body.instant("opened_at").value_or(now);
    if (!opening.request.findings.at) {
        opening.request.findings.at = std::min(opening.opened_at, now);
    }
}

}  // namespace

void write_way(JsonWriter& json, const PlannedWay& way) {
    json.begin_object().member("to", way.to.value());
    json.member("onward", way.onward ? std::optional(way.onward->value()) : std::nullopt);
    json.member("means", to_name(way.means)).member("planned_at", way.planned_at);
    json.key("travel_time_s");
    if (way.travel_time) {
        write_travel_time(json, *way.travel_time);
    } else {
        json.null();
    }
    json.key("arrival");
    write_expected(json, way.arrival);
    json.member("leave_by", way.leave_by).member("deadline", way.deadline);
    json.key("made_from");
    write_made_from(json, way.made_from);
    json.key("geometry");
    if (way.line.empty()) {
        json.null();
    } else {
        write_line(json, way.line);
    }
    json.end_object();
}

void write_accepted(JsonWriter& json, const AcceptedTransport& transport) {
    json.begin_object().member("kind", dispatch::to_name(transport.kind));
    json.key("vehicles").begin_list();
    for (const VehicleId& vehicle : transport.vehicles) {
        json.value(vehicle);
    }
    json.end_list().member("waits", transport.waits).member("sets_out", transport.sets_out);
    json.key("with_her");
    write_expected(json, transport.with_her);
    json.member("meets_at", transport.meets_at).member("fetch_at", transport.fetch_at);
    json.key("meets");
    write_expected(json, transport.meets);
    json.key("tour").begin_list();
    for (const std::string& code : transport.tour) {
        json.value(code);
    }
    json.end_list();
    json.member("accepted_at", transport.accepted_at).end_object();
}

std::string to_stored(const StoredBody& body) {
    JsonWriter json;
    json.begin_object();
    if (body.told) {
        json.key("event").begin_object();
        write_event_members(json, *body.told);
        json.end_object();
    }
    if (body.way) {
        json.key("way");
        write_way(json, *body.way);
    }
    if (body.transport) {
        json.key("transport");
        write_accepted(json, *body.transport);
        json.key("before");
        write_before(json, body.transport->before);
    }
    if (body.recommended) {
        json.key("recommended");
        write_kept_answer(json, *body.recommended);
    }
    if (body.given) {
        json.key("given").raw(*body.given).member("practice", body.is_practice);
    }
    if (!body.reason.empty()) {
        json.member("reason", body.reason);
    }
    if (body.message) {
        json.key("message");
        write_message_step(json, *body.message);
    }
    if (!body.request_sha256.empty()) {
        json.member("request_sha256", body.request_sha256);
    }
    return json.end_object().take();
}

StoredBody parse_stored_body(std::string_view json) {
    const JsonValue value = parse_json(json);
    Errors errors;
    ObjectReader reader{value, "#", errors};
    StoredBody body;
    if (const JsonValue* event = reader.take("event")) {
        body.told = parse_stored_event(*event);
    }
    if (const JsonValue* way = reader.take("way")) {
        body.way = parse_way(*way, errors);
    }
    if (const JsonValue* transport = reader.take("transport")) {
        body.transport = parse_accepted(*transport, errors);
        body.transport->before = parse_before(reader, errors);
    }
    if (const JsonValue* message = reader.take("message")) {
        body.message = parse_message_step(*message, "#/message", errors);
    }
    body.is_practice = reader.boolean("practice").value_or(false);
    body.reason = reader.text("reason").value_or("");
    body.request_sha256 = reader.text("request_sha256").value_or("");
    if (const JsonValue* given = reader.take("given")) {
        const std::string text = to_json(*given);
        const Instant opened_at = body.told ? body.told->event.occurred_at : Instant{};
        body.opening = std::make_shared<const Opening>(parse_opening(text, opened_at));
        body.given = std::make_shared<const std::string>(text);
    }
    throw_if_any(errors);
    return body;
}

Opening parse_opening(std::string_view json, Instant now) {
    return parse_body(json, [&](ObjectReader& body, std::vector<FieldError>& errors) {
        Opening opening;
        body.require("request");
        body.require("sender");
        if (const JsonValue* request = body.take("request")) {
            opening.request = read_recommendation_request(*request, "#/request", errors);
            const JsonValue* const transport = request->find("transport");
            opening.has_own_transport =
                transport != nullptr && transport->kind() == JsonKind::object;
        }
        opening.sender = FacilityId{plain_id(body, "sender", body.text("sender"))};
        const auto to = body.text("to");
        if (to) {
            opening.to = FacilityId{plain_id(body, "to", to)};
        }
        opening.channel = parse_channel(body).value_or(referral::Channel::page);
        opening.persons = parse_persons(body, errors);
        opening.treatments = parse_treatments(body, errors, now);
        opening.code = parse_code(body);
        parse_opening_times(body, opening, now);
        return opening;
    });
}

}  // namespace waybourne::server
