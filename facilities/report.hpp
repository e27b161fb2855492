#pragma once
/// What somebody said about the state of a place.

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "triage/capability.hpp"
#include "vocabulary/identifier.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::facilities {

/// The place as a whole. Reported ready: it keeps its opening hours; not ready: it is closed.
struct WholeFacility {
    bool operator==(const WholeFacility&) const = default;
};

/// A resource of the facility, by its name, e.g. `theatre_team`.
struct ResourceName {
    std::string value;
    bool operator==(const ResourceName&) const = default;
};

/// What a report is about.
using ReportSubject = std::variant<WholeFacility, triage::Capability, ResourceName>;

/// Who said what about a facility, and when. The newest report about a subject counts; a newer
/// `ready` about a capability also confirms, for that capability, everything it rests on.
struct Report {
    FacilityId facility;
    ReportSubject about;
    /// When it was said.
    Instant at{};
    /// Who said it: a role or a post, never a person's name.
    std::string by;
    bool is_ready = false;
    /// Of stock, blood and space: how many are left, not negative. None: not said.
    std::optional<int> units;
    /// Since when, where that is not `at`: "power out since 04:10".
    std::optional<Instant> since;
    /// After this the report says nothing any more: the state is unconfirmed.
    std::optional<Instant> until;
    /// Of something that is not ready: a back-up replaces it until then ("generator for 2 h").
    std::optional<Instant> backup_until;
    /// Of something that is ready: it cannot be after this (the batch goes out of date).
    std::optional<Instant> expires_at;
    bool operator==(const Report&) const = default;
};

/// As it stands in files and over the API: `whole_facility`, the capability's wire name, or the
/// resource's name.
std::string to_name(const ReportSubject& about);

}  // namespace waybourne::facilities
