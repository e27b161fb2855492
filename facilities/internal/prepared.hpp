#pragma once
/// What a register works out once, so that asking it is fast.

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "facilities/register.hpp"

namespace waybourne::facilities {

/// The facilities, unchanged for as long as registers descend from one another.
struct FacilityRegister::Prepared {
    /// A need by its place among the facility's resources.
    struct Need {
        std::size_t resource = 0;
        int units = 1;
    };
    struct Place {
        TimeZone zone;
        /// The place of a capability's service among the facility's; -1 where it has none.
        std::array<std::int16_t, triage::capability_count> service_of{};
        /// By service.
        std::vector<std::vector<Need>> needs;
    };
    std::vector<Facility> facilities;
    /// By facility.
    std::vector<Place> places;
    Holidays holidays;
};

/// The newest report about each subject of one facility.
struct FacilityRegister::Heard {
    std::optional<Report> whole;
    /// In the facility's order.
    std::vector<std::optional<Report>> services;
    std::vector<std::optional<Report>> resources;
};

}  // namespace waybourne::facilities
