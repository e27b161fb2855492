#include "routing/travel_table.hpp"

namespace waybourne::routing {

TravelTable travel_table(Router& router, std::span<const Departure> departures,
                         std::span<const Snap> targets, Seconds limit) {
    TravelTable table{targets.size()};
    for (const Departure& departure : departures) {
        table.add(router.travel_times(departure, targets, limit));
    }
    return table;
}

TravelTable travel_table(HierarchyRouter& router, std::span<const Departure> departures,
                         const PlaceIndex& places, Seconds limit) {
    TravelTable table{places.places().size()};
    for (const Departure& departure : departures) {
        table.add(router.travel_times(departure, places, limit));
    }
    return table;
}

}  // namespace waybourne::routing
