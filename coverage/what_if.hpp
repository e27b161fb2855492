#pragma once
/// What could be added, improved or lost in a district, and the district as it would then be.

#include <functional>
#include <memory>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "coverage/access.hpp"
#include "coverage/settlement.hpp"
#include "facilities/register.hpp"
#include "routing/closure.hpp"
#include "routing/metric.hpp"
#include "routing/speed_rules.hpp"

namespace waybourne::coverage {

/// The facility gives this care too, ready at any hour, resting on nothing else.
struct AddedService {
    FacilityId facility;
    triage::CapabilitySet capabilities;
    bool operator==(const AddedService&) const = default;
};

/// Open at these hours, and whoever and whatever the care rests on is there then.
struct ExtendedHours {
    FacilityId facility;
    /// Empty: all that it offers.
    triage::CapabilitySet capabilities;
    facilities::OpeningHours hours;
    bool operator==(const ExtendedHours&) const = default;
};

/// Ready at any hour for all of it.
struct AddedFacility {
    FacilityId id;
    std::string name;
    GeoPoint point{Latitude{0}, Longitude{0}};
    triage::CapabilitySet capabilities;
    bool operator==(const AddedFacility&) const = default;
};

/// Women come to live beside the facility before they give birth, so that their births count as
/// births there.
struct WaitingHome {
    FacilityId facility;
    /// That it has room for.
    double births_per_year = 0;
    bool operator==(const WaitingHome&) const = default;
};

/// A vehicle with its crew. Counts where vehicles are sent or where women walk to them.
struct VehiclePost {
    std::string name;
    GeoPoint point{Latitude{0}, Longitude{0}};
    routing::Means means = routing::Means::car;
    /// From the call until the wheels turn.
    Seconds mobilisation{};
    bool operator==(const VehiclePost&) const = default;
};

/// A road that the map lacks, both ways, for all means.
struct NewBridge {
    GeoPoint from{Latitude{0}, Longitude{0}};
    GeoPoint to{Latitude{0}, Longitude{0}};
    double kilometres_per_hour = 0;
    bool operator==(const NewBridge&) const = default;
};

/// The road's fords and whatever is under water in the wet season are passed on bridges.
struct BridgedRoad {
    routing::Where where;
    bool operator==(const BridgedRoad&) const = default;
};

/// The road is paved and smooth, and open in the wet. Its fords stay.
struct PavedRoad {
    routing::Where where;
    bool operator==(const PavedRoad&) const = default;
};

struct ClosedRoad {
    routing::Where where;
    bool operator==(const ClosedRoad&) const = default;
};

using Change = std::variant<AddedService, ExtendedHours, AddedFacility, WaitingHome, VehiclePost,
                            NewBridge, BridgedRoad, PavedRoad, ClosedRoad>;

/// `service`, `hours`, `facility`, `waiting_home`, `vehicle_post`, `new_bridge`, `bridged`,
/// `paved`, `closed`
std::string_view to_name(const Change& change);

/// Several at once, under a name.
struct Scenario {
    std::string name;
    std::vector<Change> changes;
    bool operator==(const Scenario&) const = default;
};

/// The changes of one kind, in order.
template <typename Kind>
std::vector<Kind> changes_of(const Scenario& scenario) {
    std::vector<Kind> all;
    for (const Change& change : scenario.changes) {
        if (const Kind* const one = std::get_if<Kind>(&change)) {
            all.push_back(*one);
        }
    }
    return all;
}

bool changes_roads(const Scenario& scenario);

/// The register with what is added and extended; what was reported stays, and what is added is
/// taken as reported ready at that moment.
/// @throws NotFound for a facility that there is not, InputError for a new one whose id is taken or
///         hours of care that is not offered
facilities::FacilityRegister with_changes(const facilities::FacilityRegister& facilities,
                                          const Scenario& scenario, Instant at);

/// Weights of a metric's roads as they would be, from those of the rules that made it.
/// @param anew makes a metric of the same roads, closures and moment by other rules
/// @throws InputError for a change that means no road of the map
std::shared_ptr<const routing::Metric> with_changes(
    std::shared_ptr<const routing::Metric> metric, const routing::SpeedRules& rules,
    const std::function<routing::Metric(const routing::SpeedRules&)>& anew,
    const Scenario& scenario);

/// The new bridges as links that never end. Their ids are `planned-bridge-1` and so on.
std::vector<routing::TemporaryLink> links_of(const Scenario& scenario);

/// The settlements, and after them one more for each waiting home, beside its facility: so many
/// births of those that are not in time now are taken to happen there. Who comes, nearest first as
/// the crow flies, is an assumption: women come before the roads matter. Births add up as before.
/// @param accesses without the homes, one per settlement
std::vector<Settlement> with_waiting_homes(std::vector<Settlement> settlements,
                                           std::span<const SettlementAccess> accesses,
                                           const facilities::FacilityRegister& facilities,
                                           const Scenario& scenario);

}  // namespace waybourne::coverage
