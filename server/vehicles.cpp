#include "server/vehicles.hpp"

#include <algorithm>

#include "dispatch/vehicle_file.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/nearest_name.hpp"

namespace waybourne::server {

std::vector<dispatch::Vehicle> vehicles_now(const Snapshot& snapshot,
                                            const VehicleReports& reports) {
    std::vector<dispatch::Vehicle> vehicles = snapshot.vehicles;
    for (dispatch::Vehicle& vehicle : vehicles) {
        const auto report = reports.find(vehicle.id);
        if (report != reports.end()) {
            vehicle = dispatch::with_report(std::move(vehicle), report->second);
        }
    }
    return vehicles;
}

const dispatch::Vehicle& vehicle_of(const Snapshot& snapshot, const VehicleId& id) {
    const auto& all = snapshot.vehicles;
    const auto found = std::find_if(all.begin(), all.end(),
                                    [&](const dispatch::Vehicle& one) { return one.id == id; });
    if (found != all.end()) {
        return *found;
    }
    std::vector<std::string> known;
    known.reserve(all.size());
    for (const dispatch::Vehicle& vehicle : all) {
        known.push_back(vehicle.id.value());
    }
    const auto nearest = nearest_name(id.value(), known);
    throw NotFound("no vehicle is called '" + id.value() + "'" +
                   (nearest ? "; did you mean '" + *nearest + "'?" : ""));
}

void check_vehicles(const Snapshot& snapshot, PlannedRoads& roads,
                    std::span<const dispatch::Vehicle> vehicles, Instant now) {
    const dispatch::IsOnTheMap on_the_map = [&](const dispatch::Base& base, routing::Means means) {
        const auto* facility = std::get_if<FacilityId>(&base);
        if (facility == nullptr) {
            return roads.snap(std::get<GeoPoint>(base), means, now).has_value();
        }
        const facilities::Facility* known = snapshot.facilities.find_facility(*facility);
        return known != nullptr && roads.snap(known->point, means, now).has_value();
    };
    auto problems = dispatch::problems_of(vehicles, on_the_map, now);
    if (!problems.empty()) {
        const std::string what = std::to_string(problems.size()) + " problems in the vehicles";
        throw InputError(what, std::move(problems));
    }
}

}  // namespace waybourne::server
