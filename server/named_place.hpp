#pragma once
/// Where a place lies that somebody calls by its name.

#include <string>
#include <vector>

#include "server/snapshot.hpp"

namespace waybourne::server {

/// The facility of that id; else the facilities of that name; else the settlement of that id; else
/// the settlements of that name. None: nothing is called so; several: the name alone does not say
/// which. O(facilities), and the district's file of settlements where no facility is called so.
/// @throws InputError for a bad file of settlements
std::vector<GeoPoint> places_called(const Snapshot& snapshot, const std::string& name);

}  // namespace waybourne::server
