#include "server/named_place.hpp"

#include <algorithm>
#include <tuple>

#include "vocabulary/nearest_name.hpp"
#include "vocabulary/small_letters.hpp"

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

/// Between what was written and the whole name, each of its beginnings that ends a word, or as much
/// of it as was written: people say "Kezhiru" for Kezhiru clinic, and type from the left.
std::size_t slips_between(const std::string& written, const std::string& name) {
    std::size_t least = std::min(edit_distance(written, name),
                                 edit_distance(written, name.substr(0, written.size())));
    for (std::size_t end = name.find(' '); end != std::string::npos;
         end = name.find(' ', end + 1)) {
        least = std::min(least, edit_distance(written, name.substr(0, end)));
    }
    return least;
}

FacilityId nearest_facility(const Snapshot& snapshot, const GeoPoint& point) {
    const auto all = snapshot.facilities.facilities();
    const auto nearest =
        std::min_element(all.begin(), all.end(), [&](const auto& a, const auto& b) {
            return great_circle_distance(point, a.point) < great_circle_distance(point, b.point);
        });
    return nearest == all.end() ? FacilityId{} : nearest->id;
}

}  // namespace

std::vector<GeoPoint> places_called(const Snapshot& snapshot, const std::string& name) {
    auto found = called(snapshot.facilities.facilities(), name);
    if (found.empty() && snapshot.settlements) {
        found = called(*snapshot.settlements, name);
    }
    return found;
}

std::vector<LikelyPlace> places_like(const Snapshot& snapshot, const std::string& written,
                                     std::size_t most) {
    const std::string wanted = small_letters(written);
    std::vector<LikelyPlace> found;
    const auto add = [&](const auto& place, bool is_facility) {
        const std::size_t slips = slips_between(wanted, small_letters(place.name));
        constexpr std::size_t letters_per_slip = 3;
        if (slips * letters_per_slip <= wanted.size()) {
            found.push_back(
                {place.id.value(), place.name, place.kind, place.point, {}, is_facility, slips});
        }
    };
    for (const facilities::Facility& facility : snapshot.facilities.facilities()) {
        add(facility, true);
    }
    if (snapshot.settlements) {
        for (const coverage::Settlement& settlement : *snapshot.settlements) {
            add(settlement, false);
        }
    }
    std::sort(found.begin(), found.end(), [](const LikelyPlace& a, const LikelyPlace& b) {
        return std::tuple{a.slips, a.name.size(), a.name, a.id} <
               std::tuple{b.slips, b.name.size(), b.name, b.id};
    });
    found.resize(std::min(found.size(), most));
    for (LikelyPlace& place : found) {
        place.facility =
            place.is_facility ? FacilityId{place.id} : nearest_facility(snapshot, place.point);
    }
    return found;
}

}  // namespace waybourne::server
