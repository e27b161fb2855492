#pragma once
/// What a facility offers and what that rests on: people, stock, equipment, power, beds.

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "facilities/opening_hours.hpp"
#include "triage/capability.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::facilities {

/// What a resource is made of; decides how long a report about it counts (shelf_life.hpp).
enum class ResourceKind : std::uint8_t {
    staff,      ///< people with the skill, on duty or on call
    stock,      ///< drugs and other things that are used up
    blood,      ///< blood and blood products
    equipment,  ///< things that work or do not
    power,      ///< power, oxygen, water
    space,      ///< beds, a theatre
};

inline constexpr std::size_t resource_kind_count = 6;

/// The wire name, e.g. `staff`.
std::string_view to_name(ResourceKind kind);
std::optional<ResourceKind> find_resource_kind(std::string_view name);

/// One thing that services of a facility rest on, shared by them: when it breaks, all of them do.
struct Resource {
    /// Unique in its facility, `[a-z0-9_]`, e.g. `theatre_team`; also what reports call it.
    std::string name;
    ResourceKind kind = ResourceKind::staff;
    /// When it is there. None: whenever the service that needs it is open.
    std::optional<OpeningHours> hours;
    /// When it can be called in although it is not there. None: never.
    std::optional<OpeningHours> on_call;
    /// From the call until it is there, when on call.
    Seconds call_in{0};
    bool operator==(const Resource&) const = default;
};

/// A service needs a resource.
struct Dependency {
    /// The name of a resource of the same facility.
    std::string resource;
    /// Of stock, blood and space: how many units one woman takes. At least 1.
    int units = 1;
    bool operator==(const Dependency&) const = default;
};

/// One capability as one facility offers it.
struct Service {
    triage::Capability capability{};
    /// None: the facility's own hours.
    std::optional<OpeningHours> hours;
    /// All of them are needed. Empty: the service is known only by reports about itself.
    std::vector<Dependency> needs;
    /// From the moment that somebody calls ahead, or she arrives, until care can begin, however
    /// much is there already.
    Seconds lead{0};
    /// When it was last done here. Counts for planning (clinical practice: within three months),
    /// not for today's readiness.
    std::optional<Instant> last_performed_at;
    bool operator==(const Service&) const = default;
};

}  // namespace waybourne::facilities
