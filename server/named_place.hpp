#pragma once
/// Where a place lies that somebody calls by its name.

#include <cstddef>
#include <string>
#include <vector>

#include "server/snapshot.hpp"

namespace waybourne::server {

/// The facility of that id; else the facilities of that name; else the settlement of that id; else
/// the settlements of that name. None: nothing is called so; several: the name alone does not say
/// which. Settlements are known where the snapshot has them. O(facilities + settlements).
std::vector<GeoPoint> places_called(const Snapshot& snapshot, const std::string& name);

/// A place that may be meant by a name that was heard over the telephone.
struct LikelyPlace {
    std::string id;
    std::string name;
    /// As the register or the file of settlements has it.
    std::string kind;
    GeoPoint point{Latitude{0}, Longitude{0}};
    /// The facility itself; of a settlement the nearest one, by great circle.
    FacilityId facility;
    bool is_facility = false;
    /// Slips of a finger between what was written and the name, or its beginning.
    std::size_t slips = 0;
};

/// Facilities and settlements with fewest slips first, then those of the shorter name, then by name
/// and id; at most a third of the letters written may be wrong, as in `nearest_name`. Capitals do
/// not count. O(places × length²).
std::vector<LikelyPlace> places_like(const Snapshot& snapshot, const std::string& written,
                                     std::size_t most);

}  // namespace waybourne::server
