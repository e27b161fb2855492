#pragma once
/// What a facility gives at all.

#include "facilities/facility.hpp"

namespace waybourne::facilities {

/// All that its services give, whatever their hours, stock and reports.
inline triage::CapabilitySet offered_by(const Facility& facility) {
    triage::CapabilitySet offered;
    for (const Service& service : facility.services) {
        offered.insert(service.capability);
    }
    return offered;
}

}  // namespace waybourne::facilities
