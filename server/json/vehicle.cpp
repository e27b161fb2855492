#include "server/json/vehicle.hpp"

#include <algorithm>

#include "server/json/point.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

constexpr Seconds longest_hold = 366 * 24h;
constexpr const char* free_name = "free";

/// `free`, then every hold.
const std::vector<std::string>& state_names() {
    static const std::vector<std::string> names = [] {
        std::vector<std::string> all{free_name};
        for (int hold = 0; hold <= static_cast<int>(dispatch::Hold::off_duty); ++hold) {
            all.emplace_back(dispatch::to_name(static_cast<dispatch::Hold>(hold)));
        }
        return all;
    }();
    return names;
}

std::optional<dispatch::Hold> hold_named(std::size_t choice) {
    return choice == 0 ? std::nullopt : dispatch::find_hold(state_names()[choice]);
}

/// @param at stands in for a time that was not given
std::optional<dispatch::Position> read_position(ObjectReader& body, Errors& errors,
                                                std::optional<Instant> at) {
    const JsonValue* value = body.take("position");
    if (value == nullptr) {
        return std::nullopt;
    }
    const std::size_t before = errors.size();
    ObjectReader reader{*value, body.pointer_to("position"), errors};
    const GeoPoint point = read_point(reader);
    const auto said = reader.instant("at");
    reader.finish();
    if (errors.size() > before || (!said && !at)) {
        return std::nullopt;
    }
    return dispatch::Position{point, said ? *said : *at};
}

/// A position a little ahead counts as now.
void check_position(dispatch::VehicleReport& report, Instant now, Errors& errors) {
    if (!report.position) {
        return;
    }
    Instant& at = report.position->at;
    if (at > now + dispatch::VehicleSettings{}.clock_tolerance) {
        errors.push_back(
            {"#/position/at", to_rfc3339(at) + " is in the future; it is now " + to_rfc3339(now)});
    }
    at = std::min(at, now);
}

void read_state(ObjectReader& body, dispatch::VehicleReport& report, const std::string& by,
                Instant now) {
    const auto choice = body.choice("state", state_names());
    const auto until = body.instant("until");
    if (until && !choice) {
        body.refuse("until", "belongs to a state, and none is given");
    } else if (until && (*until <= now || *until > now + longest_hold)) {
        body.refuse("until", "must lie after now, within a year");
    }
    if (choice) {
        report.state = dispatch::VehicleState{hold_named(*choice), until, now, by};
    }
}

void write_position(JsonWriter& json, const dispatch::Vehicle& vehicle, Instant now) {
    json.key("position");
    if (!vehicle.last_position) {
        json.null();
        return;
    }
    json.begin_object();
    write_point_members(json, vehicle.last_position->point);
    json.member("at", vehicle.last_position->at);
    json.member("age_s", std::max(Seconds{0}, now - vehicle.last_position->at)).end_object();
}

void write_state(JsonWriter& json, const VehicleView& view) {
    const auto& busy = view.vehicle.busy;
    const auto& called_in = view.vehicle.called_in;
    json.member("state", state_name(busy ? std::optional(busy->because) : std::nullopt));
    json.member("until", busy        ? busy->until
                         : called_in ? std::optional(called_in->until)
                                     : std::nullopt);
    const bool is_said = view.report != nullptr && view.report->state;
    json.member("said_at", is_said ? std::optional(view.report->state->said_at) : std::nullopt);
    json.member("said_by", is_said ? std::optional(view.report->state->by) : std::nullopt);
}

}  // namespace

std::string_view state_name(const std::optional<dispatch::Hold>& hold) {
    return hold ? dispatch::to_name(*hold) : free_name;
}

void write_point_members(JsonWriter& json, const GeoPoint& point) {
    constexpr int decimals = 7;
    json.key("latitude").value(point.latitude().degrees, decimals);
    json.key("longitude").value(point.longitude().degrees, decimals);
}

void write_base(JsonWriter& json, const dispatch::Base& base) {
    json.begin_object();
    if (const auto* facility = std::get_if<FacilityId>(&base)) {
        json.member("facility", *facility);
    } else {
        write_point_members(json, std::get<GeoPoint>(base));
    }
    json.end_object();
}

dispatch::VehicleReport parse_vehicle_report(std::string_view json, const std::string& by,
                                             Instant now) {
    const JsonValue value = parse_json(json);
    Errors errors;
    ObjectReader body{value, "#", errors};
    dispatch::VehicleReport report;
    report.position = read_position(body, errors, now);
    check_position(report, now, errors);
    read_state(body, report, by, now);
    body.finish();
    if (errors.empty() && !report.position && !report.state) {
        errors.push_back({"#", "says nothing: give a position, a state, or both"});
    }
    throw_if_any(errors);
    return report;
}

void write_report_members(JsonWriter& json, const dispatch::VehicleReport& report) {
    if (report.position) {
        json.key("position").begin_object();
        write_point_members(json, report.position->point);
        json.member("at", report.position->at).end_object();
    }
    if (report.state) {
        json.key("state").begin_object().member("is", state_name(report.state->hold));
        json.member("until", report.state->until).member("said_at", report.state->said_at);
        json.member("by", report.state->by).end_object();
    }
}

dispatch::VehicleReport read_report_members(ObjectReader& reader, Errors& errors) {
    dispatch::VehicleReport report;
    report.position = read_position(reader, errors, std::nullopt);
    if (const JsonValue* given = reader.take("state")) {
        ObjectReader state{*given, reader.pointer_to("state"), errors};
        state.require("is");
        state.require("said_at");
        report.state = dispatch::VehicleState{
            hold_named(state.choice("is", state_names()).value_or(0)), state.instant("until"),
            state.instant("said_at").value_or(Instant{}), state.text("by").value_or("")};
    }
    return report;
}

std::string to_stored(const dispatch::VehicleReport& report, const std::string& request_sha256) {
    JsonWriter json;
    json.begin_object();
    write_report_members(json, report);
    json.member("request_sha256", request_sha256);
    return json.end_object().take();
}

dispatch::VehicleReport parse_stored_vehicle_report(std::string_view json) {
    const JsonValue value = parse_json(json);
    Errors errors;
    ObjectReader body{value, "#", errors};
    dispatch::VehicleReport report = read_report_members(body, errors);
    throw_if_any(errors);
    return report;
}

void write_vehicle(JsonWriter& json, const VehicleView& view, const Snapshot& snapshot,
                   const Words& words) {
    const dispatch::Vehicle& vehicle = view.vehicle;
    const dispatch::VehicleSettings settings;
    const Instant now = words.now();
    const auto known = dispatch::position_of(vehicle, now, settings);
    const auto available = dispatch::availability(vehicle, snapshot.zone, now, settings);
    std::vector<std::string> kit;
    for (const triage::Capability capability : vehicle.kit.members()) {
        kit.emplace_back(to_name(capability));
    }
    std::vector<std::string> skills;
    for (const dispatch::Skill skill : vehicle.escort_skills) {
        skills.emplace_back(dispatch::to_name(skill));
    }
    json.begin_object().member("id", vehicle.id).member("name", vehicle.name);
    json.member("kind", dispatch::to_name(vehicle.kind)).member("means", to_name(vehicle.means));
    json.key("base");
    write_base(json, vehicle.base);
    json.key("seats").begin_object().member("lying", vehicle.seats.lying);
    json.member("sitting", vehicle.seats.sitting).end_object();
    json.member("kit", kit).member("escort_skills", skills).member("phones", vehicle.phones);
    write_position(json, vehicle, now);
    write_state(json, view);
    json.member("available_from", available.from).member("referral", view.referral);
    json.member("remarks",
                known.remark ? words.texts({*known.remark}) : std::vector<std::string>{});
    json.member("reasons", words.texts(available.reasons)).end_object();
}

}  // namespace waybourne::server
