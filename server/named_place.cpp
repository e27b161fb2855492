#include "server/named_place.hpp"

#include "server/settlements.hpp"

namespace waybourne::server {

namespace {

template <typename Places>
std::vector<GeoPoint> called(const Places& places, const std::string& name) {
    std::vector<GeoPoint> by_name;
    for (const auto& place : places) {
        if (place.id.value() == name) {
            return {place.point};
        }
        if (place.name == name) {
            by_name.push_back(place.point);
        }
    }
    return by_name;
}

}  // namespace

std::vector<GeoPoint> places_called(const Snapshot& snapshot, const std::string& name) {
    auto found = called(snapshot.facilities.facilities(), name);
    if (found.empty() && snapshot.district.files.count("settlements") != 0) {
        found = called(settlements_of(snapshot), name);
    }
    return found;
}

}  // namespace waybourne::server
