#include <array>

#include "facilities/internal/import_rows.hpp"
#include "facilities/internal/strict_json.hpp"
#include "facilities/register_file.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::facilities {

namespace {

const std::array<std::string, 1> file_names{"reports"};
const std::array<std::string, 10> report_names{"facility",     "about",     "state", "at",
                                               "by",           "units",     "since", "until",
                                               "backup_until", "expires_at"};

ReportSubject to_subject(const std::string& name) {
    if (name == to_name(WholeFacility{})) {
        return WholeFacility{};
    }
    if (const auto capability = triage::find_capability(name)) {
        return *capability;
    }
    return ResourceName{name};
}

Report read_report(const Json& given, const std::string& path, std::vector<FieldError>& errors) {
    Report report;
    if (!given.is_object()) {
        errors.push_back({path, "is not an object"});
        return report;
    }
    Members members(given, path + "/", report_names, errors);
    report.facility = FacilityId(members.needed_text("facility"));
    report.about = to_subject(members.needed_text("about"));
    report.by = members.needed_text("by");
    const std::string state = members.needed_text("state");
    report.is_ready = state == "ready";
    if (!state.empty() && state != "ready" && state != "not_ready") {
        members.note("state", "'" + shortened(state) + "' is neither ready nor not_ready");
    }
    if (!members.has("at")) {
        members.note("at", "is needed: when it was said");
    }
    report.at = members.instant("at").value_or(Instant{});
    report.units = members.count("units");
    report.since = members.instant("since");
    report.until = members.instant("until");
    report.backup_until = members.instant("backup_until");
    report.expires_at = members.instant("expires_at");
    return report;
}

}  // namespace

std::vector<Report> read_reports(std::string_view json) {
    check_size(json);
    const Json file = parse_strictly(json);
    if (!file.is_object() || !file.contains("reports") || !file["reports"].is_array()) {
        throw InputError("this is no file of reports",
                         {{"#/reports", "a list of reports is needed"}});
    }
    std::vector<FieldError> errors;
    const Members members(file, "#/", file_names, errors);
    std::vector<Report> reports;
    for (const Json& given : file["reports"]) {
        reports.push_back(
            read_report(given, "#/reports/" + std::to_string(reports.size()), errors));
    }
    if (!errors.empty()) {
        throw InputError(std::to_string(errors.size()) + " problems in the reports", errors);
    }
    return reports;
}

std::string to_json(std::span<const Report> reports) {
    Json list = Json::array();
    for (const Report& report : reports) {
        Json json{{"facility", report.facility.value()},
                  {"about", to_name(report.about)},
                  {"state", report.is_ready ? "ready" : "not_ready"},
                  {"at", to_rfc3339(report.at)},
                  {"by", report.by}};
        const auto add = [&](const char* name, const std::optional<Instant>& instant) {
            if (instant) {
                json[name] = to_rfc3339(*instant);
            }
        };
        if (report.units) {
            json["units"] = *report.units;
        }
        add("since", report.since);
        add("until", report.until);
        add("backup_until", report.backup_until);
        add("expires_at", report.expires_at);
        list.push_back(std::move(json));
    }
    return Json{{"reports", std::move(list)}}.dump(2) + "\n";
}

}  // namespace waybourne::facilities
