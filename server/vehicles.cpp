#include "server/vehicles.hpp"

#include "dispatch/vehicle_file.hpp"
#include "server/program_files.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

std::vector<dispatch::Vehicle> vehicles_of(const Snapshot& snapshot) {
    const auto named = snapshot.district.files.find("vehicles");
    if (named == snapshot.district.files.end()) {
        return {};
    }
    return dispatch::read_vehicles(read_program_file(snapshot.folder / named->second));
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
