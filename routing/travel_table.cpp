#include "routing/travel_table.hpp"

namespace waybourne::routing {

TravelTable travel_table(Router& router, std::span<const Departure> departures,
                         std::span<const Snap> targets, Seconds limit) {
    TravelTable table{departures.size(), targets.size()};
    for (std::size_t row = 0; row < departures.size(); ++row) {
        table.set(row, router.travel_times(departures[row], targets, limit));
    }
    return table;
}

TravelTable travel_table(HierarchyRouter& router, std::span<const Departure> departures,
                         const PlaceIndex& places, Seconds limit) {
    return {places.places().size(), router.travel_times(departures, places, limit)};
}

}  // namespace waybourne::routing
