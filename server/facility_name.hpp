#pragma once
/// What a place of the register is called.

#include <string>

#include "facilities/register.hpp"

namespace waybourne::server {

/// Its id where the register does not have it any more.
inline std::string name_of(const facilities::FacilityRegister& places, const FacilityId& id) {
    const facilities::Facility* const found = places.find_facility(id);
    return found == nullptr ? id.value() : found->name;
}

}  // namespace waybourne::server
