#include "maps-sample/generator/reports.hpp"

#include <chrono>
#include <map>
#include <optional>
#include <vector>

#include "maps-sample/generator/facilities.hpp"
#include "maps-sample/generator/json_text.hpp"
#include "maps-sample/generator/random.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::sample {

namespace {

constexpr int hour = 60;
constexpr int day = 24 * hour;

/// Something that is not simply there. Times in minutes before the sample's moment.
struct Trouble {
    std::string facility;
    std::string resource;
    bool is_ready = false;
    int minutes_ago = 0;
    std::optional<int> units;
    std::optional<int> since_minutes_ago;
    /// Minutes from the sample's moment on.
    std::optional<int> until_in_minutes;
    std::optional<int> backup_until_in_minutes;
};

const std::vector<Trouble>& troubles() {
    static const std::vector<Trouble> listed = {
        // Shortages.
        {"ammovreth-health-centre", "magnesium", false, 3 * hour, 0, {}, {}, {}},
        {"pellumvo-hospital", "balloon_kit", false, 5 * hour, 0, {}, {}, {}},
        {"venzhoth-hospital", "ultrasound_machine", false, 2 * day, {}, 3 * day, {}, {}},
        {"issolvu-health-centre", "tranexamic_ampoules", false, 6 * hour, 0, {}, {}, {}},
        {"nolluvish-health-centre", "oxygen_source", false, 4 * hour, {}, 7 * hour, {}, {}},
        {"nolluvish-health-centre", "clinician", false, 2 * hour, {}, {}, 22 * hour, {}},
        {"ebruzhai-health-centre", "hydralazine", false, 8 * hour, 0, {}, {}, {}},
        {"quovreth-health-centre", "oxygen_source", false, 90, {}, 100, {}, 3 * hour},
        {"shuvemra-clinic", "oxytocin", false, 5 * hour, 0, {}, {}, {}},
        {"gremvolo-health-post", "midwife", false, 3 * hour, {}, {}, 2 * day, {}},
        // There, but not much of it.
        {"pellumvo-hospital", "blood", true, 3 * hour, 3, {}, {}, {}},
        {"venzhoth-hospital", "blood", true, 2 * hour, 5, {}, {}, {}},
        {"sorvrith-hospital", "blood", true, 80, 14, {}, {}, {}},
        {"sorvrith-hospital", "high_care_bed", true, 2 * hour, 1, {}, {}, {}},
        // Last heard of too long ago.
        {"quovreth-health-centre", "magnesium", true, 3 * day, 6, {}, {}, {}},
        {"quovreth-health-centre", "midwife", true, 2 * day, {}, {}, {}, {}},
        {"ebruzhai-health-centre", "laboratory_technician", true, 30 * hour, {}, {}, {}, {}},
        {"mirruzhe-clinic", "drip_bags", true, 4 * day, 8, {}, {}, {}},
    };
    return listed;
}

/// Nobody has heard of these for days: no report at all.
bool is_silent(const std::string& facility) {
    return facility == "razhimol-clinic" || facility == "zhelappu-health-post";
}

/// How old a report may be that still counts: within the shelf lives of
/// docs/howto/import-facilities.md.
int most_minutes(const std::string& kind) {
    static const std::map<std::string, int> limits = {{"staff", 8 * hour}, {"stock", 14 * hour},
                                                      {"blood", 4 * hour}, {"space", 4 * hour},
                                                      {"power", 8 * hour}, {"equipment", 4 * day}};
    return limits.at(kind);
}

std::string reporter(const std::string& kind) {
    if (kind == "stock") {
        return "pharmacy";
    }
    if (kind == "blood") {
        return "laboratory";
    }
    return kind == "power" || kind == "equipment" ? "maintenance" : "nurse in charge";
}

std::string in_rfc3339(const std::optional<int>& minutes_ago) {
    return minutes_ago ? quoted(minutes_before_now(*minutes_ago)) : "";
}

std::optional<int> negated(const std::optional<int>& minutes) {
    return minutes ? std::optional{-*minutes} : std::nullopt;
}

std::string to_text(const Trouble& report, const std::string& by) {
    return object_of({{"facility", quoted(report.facility)},
                      {"about", quoted(report.resource)},
                      {"state", quoted(report.is_ready ? "ready" : "not_ready")},
                      {"units", report.units ? std::to_string(*report.units) : ""},
                      {"at", in_rfc3339(report.minutes_ago)},
                      {"since", in_rfc3339(report.since_minutes_ago)},
                      {"until", in_rfc3339(negated(report.until_in_minutes))},
                      {"backup_until", in_rfc3339(negated(report.backup_until_in_minutes))},
                      {"by", quoted(by)}});
}

Trouble report_on(const FacilityPlan& facility, const ResourcePlan& resource, Random& random) {
    const int age = 30 + static_cast<int>(random.below(
                             static_cast<std::uint64_t>(most_minutes(resource.kind) - 30)));
    const int units = 4 + static_cast<int>(random.below(40));
    for (const Trouble& trouble : troubles()) {
        if (trouble.facility == facility.id && trouble.resource == resource.name) {
            return trouble;
        }
    }
    Trouble report{facility.id, resource.name, true, age, {}, {}, {}, {}};
    if (resource.kind == "stock") {
        report.units = units;
    }
    return report;
}

}  // namespace

std::string minutes_before_now(int minutes) {
    return to_rfc3339(parse_rfc3339(sample_now) - std::chrono::minutes{minutes});
}

std::string reports_text() {
    Random random{4096};
    std::vector<std::string> reports;
    for (const FacilityPlan& facility : facility_plans()) {
        if (is_silent(facility.id)) {
            continue;
        }
        const int age = 30 + static_cast<int>(random.below(300));
        reports.push_back(
            to_text({facility.id, "whole_facility", true, age, {}, {}, {}, {}}, "nurse in charge"));
        for (const ResourcePlan& resource : facility.resources) {
            reports.push_back(
                to_text(report_on(facility, resource, random), reporter(resource.kind)));
        }
    }
    return block_of({{"reports", lines_of(reports, 2)}}, 0) + "\n";
}

}  // namespace waybourne::sample
