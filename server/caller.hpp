#pragma once
/// Who asks, and as what: every handler gets one, and decides by it what may be seen and done.

#include <string>
#include <string_view>
#include <vector>

#include "vocabulary/identifier.hpp"

namespace waybourne::server {

/// What somebody may do here (design.md section 10).
enum class Role {
    health_worker,
    facility,
    dispatcher,
    driver,
    planner,
    administrator,
    auditor,
};

/// `health_worker`, `facility`, …: as it stands in files and over the API.
constexpr std::string_view to_name(Role role) {
    switch (role) {
        case Role::health_worker:
            return "health_worker";
        case Role::facility:
            return "facility";
        case Role::dispatcher:
            return "dispatcher";
        case Role::driver:
            return "driver";
        case Role::planner:
            return "planner";
        case Role::administrator:
            return "administrator";
        case Role::auditor:
            break;
    }
    return "auditor";
}

/// Whoever sent a request. Made from nothing it is what a server without keys, which only this
/// machine can reach, takes everybody for.
struct Caller {
    /// The id of an account, never a person's name: it goes into the journal and the log.
    std::string who = "local";
    Role role = Role::administrator;
    /// The places somebody acts for: a health worker's and a facility's own.
    std::vector<FacilityId> facilities = {};
    /// Practises: sees and makes practice cases only.
    bool practice = false;
    /// In which languages answers are wanted, as an `Accept-Language` field says; `catalogue_for`
    /// reads it. Empty: the district's.
    std::string languages = {};
    bool operator==(const Caller&) const = default;
};

}  // namespace waybourne::server
