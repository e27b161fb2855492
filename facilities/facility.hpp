#pragma once
/// A place of care and what it offers.

#include <optional>
#include <string>
#include <vector>

#include "facilities/service.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/geo_point.hpp"
#include "vocabulary/identifier.hpp"

namespace waybourne::facilities {

struct Facility {
    FacilityId id;
    std::string name;
    GeoPoint point{Latitude{0}, Longitude{0}};
    /// e.g. `hospital`, `health_centre`, `clinic`, `health_post`: shown to people, never decides.
    std::string kind;
    /// In the order to try. E.164 where the register knows it.
    std::vector<std::string> phones;
    /// IANA name, e.g. `Etc/GMT`; checked against the time-zone data when the register is made.
    std::string time_zone;
    /// When it is open. None: not known, so every service without hours of its own is unconfirmed.
    std::optional<OpeningHours> hours;
    /// When somebody last confirmed the opening hours, its own and those of its services. None:
    /// never, unless a report does.
    std::optional<Instant> hours_confirmed_at;
    /// What its services rest on.
    std::vector<Resource> resources;
    /// At most one per capability. A capability without a service is not offered here.
    std::vector<Service> services;
    bool operator==(const Facility&) const = default;
};

/// Everything that is wrong with a facility by itself, empty when it is good: id and name, time
/// zone, two services for one capability, a need without a resource. Pointers start at the
/// facility, e.g. `#/services/blood_transfusion/needs/1`. Reads the time-zone data.
std::vector<FieldError> problems_of(const Facility& facility);

/// What is not wrong but looks like a slip of data entry, by the implications between capabilities,
/// which never grant or remove one (e.g. a caesarean without drips).
/// Source: the clinical specification's section d.1.
std::vector<FieldError> doubts_about(const Facility& facility);

}  // namespace waybourne::facilities
