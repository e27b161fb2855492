#pragma once
/// A place of care and what it offers.

#include <string>
#include <vector>

#include "facilities/service.hpp"
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
    /// At most one per capability. A capability without a service is not offered here.
    std::vector<Service> services;
};

}  // namespace waybourne::facilities
