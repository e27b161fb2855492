#pragma once
/// Invented places for the tests of this room.

#include <fstream>
#include <sstream>
#include <string>

#include "facilities/capable.hpp"

namespace waybourne::facilities {

inline Instant at(const char* text) {
    return parse_rfc3339(text);
}

/// 2026-03-04 is a Wednesday; Etc/GMT, so the wall shows UTC.
inline const Instant wednesday_noon = parse_rfc3339("2026-03-04T12:00:00Z");

inline Resource resource(const char* name, ResourceKind kind) {
    Resource made;
    made.name = name;
    made.kind = kind;
    return made;
}

inline Service service(triage::Capability capability, std::vector<Dependency> needs) {
    Service made;
    made.capability = capability;
    made.needs = std::move(needs);
    return made;
}

/// Always open, as confirmed a day before `wednesday_noon`.
inline Facility always_open(const char* id) {
    Facility made;
    made.id = FacilityId(id);
    made.name = id;
    made.kind = "hospital";
    made.time_zone = "Etc/GMT";
    made.hours = OpeningHours();
    made.hours_confirmed_at = wednesday_noon - 24h;
    return made;
}

inline Report ready(const Facility& facility, ReportSubject about, Instant when) {
    Report made;
    made.facility = facility.id;
    made.about = std::move(about);
    made.at = when;
    made.by = "matron";
    made.is_ready = true;
    return made;
}

inline Report not_ready(const Facility& facility, ReportSubject about, Instant when) {
    Report made = ready(facility, std::move(about), when);
    made.is_ready = false;
    return made;
}

inline const Catalogue& english() {
    static const Catalogue catalogue = [] {
        std::ifstream file(std::string(WAYBOURNE_SOURCE_DIR) + "/facilities/texts.en.json");
        std::ostringstream text;
        text << file.rdbuf();
        return parse_catalogue(text.str());
    }();
    return catalogue;
}

/// The reasons in English, joined by "; ".
inline std::string words(const Readiness& readiness) {
    std::string all;
    for (const Message& reason : readiness.reasons) {
        all += (all.empty() ? "" : "; ") + english().text(reason);
    }
    return all;
}

}  // namespace waybourne::facilities
