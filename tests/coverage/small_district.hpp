#pragma once
/// A handful of settlements and places with ways of so many minutes.

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

#include "coverage/access.hpp"

namespace waybourne::coverage {

/// It is noon on a Wednesday; Etc/GMT, so the wall shows UTC.
inline const Instant noon = parse_rfc3339("2026-03-04T12:00:00Z");

/// Always open, as confirmed a day before noon; what it offers rests on nothing else.
inline facilities::Facility place_offering(const std::string& id, triage::CapabilitySet offers) {
    facilities::Facility made;
    made.id = FacilityId(id);
    made.name = id;
    made.kind = "hospital";
    made.time_zone = "Etc/GMT";
    made.hours = facilities::OpeningHours();
    made.hours_confirmed_at = noon - 24h;
    for (const triage::Capability capability : offers.members()) {
        facilities::Service service;
        service.capability = capability;
        made.services.push_back(service);
    }
    return made;
}

inline facilities::Report heard(const std::string& facility, facilities::ReportSubject about,
                                bool is_ready, Instant at = noon) {
    facilities::Report made;
    made.facility = FacilityId(facility);
    made.about = std::move(about);
    made.at = at;
    made.by = "matron";
    made.is_ready = is_ready;
    return made;
}

inline Settlement settlement(const std::string& id, double births) {
    Settlement made;
    made.id = SettlementId(id);
    made.name = id;
    made.births_per_year = births;
    return made;
}

inline constexpr int no_way = -1;

/// Minutes, row by row; typical and allowed alike.
inline TravelTimes minutes_table(const std::vector<std::vector<int>>& minutes) {
    TravelTimes times(minutes.size(), minutes.empty() ? 0 : minutes.front().size());
    for (std::size_t i = 0; i < minutes.size(); ++i) {
        for (std::size_t j = 0; j < minutes[i].size(); ++j) {
            if (minutes[i][j] != no_way) {
                const Seconds time = std::chrono::minutes(minutes[i][j]);
                times.set(i, j, routing::TravelTime{time, time});
            }
        }
    }
    return times;
}

inline CareClock clock_of(const std::vector<std::vector<int>>& minutes,
                          const facilities::FacilityRegister& places,
                          ReadinessAssumption assumption = ReadinessAssumption::as_registered,
                          const CareAssumptions& assumptions = {0s, 0s}, Instant at = noon) {
    return CareClock(std::make_shared<const TravelTimes>(minutes_table(minutes)), places, at,
                     assumption, assumptions);
}

inline constexpr triage::Capability caesarean = triage::Capability::operative_delivery;
inline constexpr triage::Capability blood = triage::Capability::blood_transfusion;

}  // namespace waybourne::coverage
