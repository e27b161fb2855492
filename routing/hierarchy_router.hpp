#pragma once
/// The router that answers at once over a whole country.

#include <memory>

#include "routing/place_index.hpp"
#include "routing/router.hpp"

namespace waybourne::routing {

/// A customizable contraction hierarchy behind the same promises as ReferenceRouter: equal answers
/// to the tenth of a second. Climbs the elimination tree from both ends and looks where the climbs
/// meet; where the way found rests on a timetable, a goal-directed search decides exactly. A search
/// workspace: one per thread, a few hundred KB, and 48 bytes per node once a timetable matters or
/// a road is to be avoided. Cost per target: O(up arcs of its chain).
class HierarchyRouter final : public Router {
public:
    explicit HierarchyRouter(std::shared_ptr<const PreparedMetric> metric);
    ~HierarchyRouter() override;

    std::vector<std::optional<TravelTime>> travel_times(const Departure& departure,
                                                        std::span<const Snap> targets,
                                                        Seconds limit) override;
    std::optional<Route> route(const Departure& departure, const Snap& target) override;
    std::optional<Route> route_around(const Departure& departure, const Snap& target,
                                      std::span<const PieceId> avoided) override;
    std::vector<Nearest> nearest(const Departure& departure, std::span<const Snap> targets,
                                 std::size_t count, Seconds limit,
                                 const ReadyAfter& ready_after) override;

    /// The same for places that are kept and offer what is needed: looks only at those near enough
    /// to matter. `ready_after` is asked only about those.
    /// @param places of this router's prepared metric
    /// @throws InputError if they are of another
    std::vector<Nearest> nearest(const Departure& departure, const PlaceIndex& places,
                                 std::size_t count, Seconds limit, const ReadyAfter& ready_after,
                                 const Offers& offers = {});
    /// From every departure to all kept places, row by row; none for those removed. Departures
    /// that are neighbours in the hierarchy are searched from together.
    /// @throws InputError if the places are of another prepared metric
    std::vector<std::optional<TravelTime>> travel_times(std::span<const Departure> departures,
                                                        const PlaceIndex& places, Seconds limit);

private:
    void check(const PlaceIndex& places) const;

    std::shared_ptr<const PreparedMetric> metric_;
    std::unique_ptr<class HierarchySearch> search_;
};

}  // namespace waybourne::routing
