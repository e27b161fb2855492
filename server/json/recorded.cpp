#include "server/json/recorded.hpp"

#include <algorithm>

#include "server/json/request.hpp"
#include "server/json/road_conditions.hpp"
#include "server/json/shift_handover.hpp"
#include "server/json/vehicle.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

constexpr std::size_t most_reports = 200;
constexpr double most_units = 100'000;
constexpr double most_counted = 1e15;

facilities::ReportSubject parse_subject(const std::string& name) {
    if (name == to_name(facilities::ReportSubject{facilities::WholeFacility{}})) {
        return facilities::WholeFacility{};
    }
    if (const auto capability = triage::find_capability(name)) {
        return *capability;
    }
    return facilities::ResourceName{name};
}

/// What one report says; facility, author and time are the caller's to fill in.
facilities::Report parse_report_members(ObjectReader& reader) {
    static const std::vector<std::string> states{"ready", "not_ready"};
    facilities::Report report;
    reader.require("about");
    reader.require("state");
    report.about = parse_subject(reader.text("about").value_or(""));
    report.is_ready = reader.choice("state", states).value_or(1) == 0;
    report.units = reader.whole_number("units", {0, most_units});
    report.since = reader.instant("since");
    report.until = reader.instant("until");
    report.backup_until = reader.instant("backup_until");
    report.expires_at = reader.instant("expires_at");
    return report;
}

}  // namespace

std::vector<facilities::Report> parse_reports(ObjectReader& body, const FacilityId& facility,
                                              const std::string& by, Instant now, Errors& errors) {
    std::vector<facilities::Report> reports;
    const auto* list = body.list("reports", most_reports);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        ObjectReader reader{(*list)[i], body.pointer_to("reports") + "/" + std::to_string(i),
                            errors};
        facilities::Report report = parse_report_members(reader);
        report.facility = facility;
        report.by = by;
        report.at = std::min(reader.instant("at").value_or(now), now);
        reader.finish();
        reports.push_back(std::move(report));
    }
    return reports;
}

void write_report(JsonWriter& json, const facilities::Report& report) {
    json.begin_object().member("facility", report.facility.value());
    json.member("about", to_name(report.about));
    json.member("state", report.is_ready ? "ready" : "not_ready").member("at", report.at);
    json.member("by", report.by);
    if (report.units) {
        json.member("units", *report.units);
    }
    const auto add = [&](std::string_view name, const std::optional<Instant>& instant) {
        if (instant) {
            json.member(name, *instant);
        }
    };
    add("since", report.since);
    add("until", report.until);
    add("backup_until", report.backup_until);
    add("expires_at", report.expires_at);
    json.end_object();
}

std::string to_stored(const std::vector<facilities::Report>& reports,
                      const std::string& request_sha256) {
    JsonWriter json;
    json.begin_object().key("reports").begin_list();
    for (const facilities::Report& report : reports) {
        write_report(json, report);
    }
    json.end_list();
    if (!request_sha256.empty()) {
        json.member("request_sha256", request_sha256);
    }
    return json.end_object().take();
}

namespace {

std::vector<facilities::Report> parse_report_list(ObjectReader& body, Errors& errors) {
    std::vector<facilities::Report> reports;
    const JsonValue* list = body.take("reports");
    for (std::size_t i = 0; list != nullptr && i < list->items().size(); ++i) {
        ObjectReader reader{list->items()[i], "#/reports/" + std::to_string(i), errors};
        facilities::Report report = parse_report_members(reader);
        report.facility = FacilityId{reader.text("facility").value_or("")};
        report.by = reader.text("by").value_or("");
        report.at = reader.instant("at").value_or(Instant{});
        reports.push_back(std::move(report));
    }
    return reports;
}

}  // namespace

std::vector<facilities::Report> parse_stored_reports(std::string_view json) {
    const JsonValue value = parse_json(json);
    Errors errors;
    ObjectReader body{value, "#", errors};
    auto reports = parse_report_list(body, errors);
    throw_if_any(errors);
    return reports;
}

namespace {

void write_stored_notice(JsonWriter& json, const RoadNotice& notice) {
    json.begin_object().key("change");
    write_change(json, notice.change);
    json.member("who", notice.who).member("at", notice.at);
}

RoadNotice parse_notice(const JsonValue& value, Errors& errors) {
    ObjectReader body{value, "#", errors};
    RoadNotice notice;
    body.require("change");
    if (const JsonValue* given = body.take("change")) {
        ObjectReader reader{*given, "#/change", errors};
        notice.change = parse_change(reader, errors);
    }
    notice.who = body.text("who").value_or("");
    notice.at = body.instant("at").value_or(Instant{});
    return notice;
}

}  // namespace

std::string to_stored(const RoadNotice& notice, const std::string& request_sha256) {
    JsonWriter json;
    write_stored_notice(json, notice);
    if (!request_sha256.empty()) {
        json.member("request_sha256", request_sha256);
    }
    return json.end_object().take();
}

RoadNotice parse_stored_notice(std::string_view json) {
    const JsonValue value = parse_json(json);
    Errors errors;
    RoadNotice notice = parse_notice(value, errors);
    throw_if_any(errors);
    return notice;
}

namespace {

void write_summary(JsonWriter& json, const ReferralSummary& summary, bool is_live) {
    json.begin_object().member("code", summary.code);
    json.member("opened", std::int64_t{summary.opened_sequence});
    json.member("version", std::int64_t{summary.version}).member("at", summary.opened_at);
    json.member("sender", summary.sender.value()).member("asked", summary.asked);
    json.member("place", summary.at).member("vehicle", summary.vehicle);
    json.member("second_vehicle", summary.second_vehicle);
    json.member("state", wire_name(summary.state)).member("is_open", summary.is_open);
    json.member("practice", summary.is_practice).member("held", summary.is_held);
    json.member("live", is_live).end_object();
}

template <typename AnyId>
std::optional<AnyId> id_in(ObjectReader& reader, const std::string& name) {
    const auto text = reader.text(name);
    return text ? std::optional(AnyId{*text}) : std::nullopt;
}

void read_summary(Recorded& recorded, const JsonValue& value, Errors& errors) {
    ObjectReader reader{value, "#", errors};
    ReferralSummary summary;
    const auto sequence = [&](const char* name) {
        return static_cast<journal::Sequence>(reader.number(name, {0, most_counted}).value_or(0));
    };
    summary.code = reader.text("code").value_or("");
    summary.opened_sequence = sequence("opened");
    summary.version = sequence("version");
    summary.opened_at = reader.instant("at").value_or(Instant{});
    summary.sender = FacilityId{reader.text("sender").value_or("")};
    summary.asked = id_in<FacilityId>(reader, "asked");
    summary.at = id_in<FacilityId>(reader, "place");
    summary.vehicle = id_in<VehicleId>(reader, "vehicle");
    summary.second_vehicle = id_in<VehicleId>(reader, "second_vehicle");
    summary.state =
        referral::find_state(reader.text("state").value_or("")).value_or(referral::State::opened);
    summary.is_open = reader.boolean("is_open").value_or(true);
    summary.is_practice = reader.boolean("practice").value_or(false);
    summary.is_held = reader.boolean("held").value_or(false);
    if (reader.boolean("live").value_or(true)) {
        recorded.unread.insert(summary.code);
    }
    recorded.by_opening[summary.opened_sequence] = summary.code;
    recorded.summaries.emplace(summary.code, std::move(summary));
}

}  // namespace

std::string write_recorded(const Recorded& recorded) {
    JsonWriter json;
    json.begin_object().key("referrals").begin_list();
    for (const auto& [code, summary] : recorded.summaries) {
        write_summary(json, summary,
                      recorded.live.count(code) != 0 || recorded.unread.count(code) != 0);
    }
    json.end_list().key("reports").begin_list();
    for (const auto& [about, report] : recorded.reports) {
        write_report(json, report);
    }
    json.end_list().key("notices").begin_list();
    for (const auto& [id, notice] : recorded.notices) {
        write_stored_notice(json, notice);
        json.end_object();
    }
    json.end_list().key("lifted").begin_list();
    for (const std::string& id : recorded.lifted) {
        json.value(id);
    }
    json.end_list().key("vehicles").begin_list();
    for (const auto& [id, report] : recorded.vehicles) {
        json.begin_object().member("id", id);
        write_report_members(json, report);
        json.end_object();
    }
    json.end_list().key("handovers").begin_list();
    for (const auto& [id, handover] : recorded.handovers) {
        json.begin_object();
        write_handover_members(json, handover);
        json.end_object();
    }
    json.end_list().member("district_version", recorded.district_version);
    return json.end_object().take();
}

Recorded read_recorded(const std::string& json) {
    const JsonValue value = parse_json(json);
    Errors errors;
    Recorded recorded;
    ObjectReader body{value, "#", errors};
    constexpr auto no_limit = static_cast<std::size_t>(-1);
    const auto list = [&](const char* name) -> const std::vector<JsonValue>& {
        static const std::vector<JsonValue> none;
        body.require(name);
        const auto* found = body.list(name, no_limit);
        return found == nullptr ? none : *found;
    };
    for (const JsonValue& summary : list("referrals")) {
        read_summary(recorded, summary, errors);
    }
    for (facilities::Report& report : parse_report_list(body, errors)) {
        recorded.reports[{report.facility, to_name(report.about)}] = std::move(report);
    }
    for (const JsonValue& one : list("notices")) {
        RoadNotice notice = parse_notice(one, errors);
        const std::string id = notice.change.id;
        recorded.notices.emplace(id, std::move(notice));
    }
    for (const JsonValue& id : list("lifted")) {
        if (id.kind() == JsonKind::text) {
            recorded.lifted.insert(id.text());
        } else {
            body.refuse("lifted", "holds something else than ids");
        }
    }
    for (const JsonValue& one : list("vehicles")) {
        ObjectReader reader{one, "#/vehicles", errors};
        const VehicleId id{reader.text("id").value_or("")};
        recorded.vehicles.emplace(id, read_report_members(reader, errors));
    }
    for (const JsonValue& one : list("handovers")) {
        ObjectReader reader{one, "#/handovers", errors};
        ShiftHandover handover = read_handover_members(reader);
        const std::string id = handover.id;
        recorded.handovers.emplace(id, std::move(handover));
    }
    recorded.district_version =
        static_cast<std::int64_t>(body.number("district_version", {0, most_counted}).value_or(0));
    throw_if_any(errors);
    return recorded;
}

}  // namespace waybourne::server
