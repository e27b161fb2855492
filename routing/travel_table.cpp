#include "routing/travel_table.hpp"

#include <numeric>

namespace waybourne::routing {

namespace {

/// Neighbours in the hierarchy follow each other: what one climb passes is still at hand for the
/// next.
std::vector<std::size_t> by_rank(std::span<const Departure> departures,
                                 const PreparedMetric& metric) {
    const RoadNetwork& network = metric.metric().network();
    const auto ranks = metric.hierarchy().arrays().rank_of_node;
    const auto rank = [&](std::size_t index) {
        const auto& accesses = departures[index].from.accesses;
        const bool is_known =
            !accesses.empty() && accesses.front().piece.value < network.piece_count();
        return is_known ? ranks[network.piece(accesses.front().piece).from.value] : 0;
    };
    std::vector<std::size_t> order(departures.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return rank(a) < rank(b); });
    return order;
}

}  // namespace

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
    TravelTable table{departures.size(), places.places().size()};
    for (const std::size_t row : by_rank(departures, places.metric())) {
        table.set(row, router.travel_times(departures[row], places, limit));
    }
    return table;
}

}  // namespace waybourne::routing
