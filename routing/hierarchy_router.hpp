#pragma once
/// The router that answers at once over a whole country.

#include <memory>

#include "routing/prepared_metric.hpp"
#include "routing/router.hpp"

namespace waybourne::routing {

/// Places that are asked about again and again, kept where searches climb past them. Immutable;
/// share it between the routers of one prepared metric. About 200 entries of 16 bytes per place on
/// a million nodes.
class PlaceIndex {
public:
    PlaceIndex(std::shared_ptr<const PreparedMetric> metric, std::vector<Snap> places);
    ~PlaceIndex();
    PlaceIndex(const PlaceIndex&) = delete;
    PlaceIndex& operator=(const PlaceIndex&) = delete;

    const std::vector<Snap>& places() const { return places_; }

private:
    friend class HierarchyRouter;
    struct Kept;
    std::shared_ptr<const PreparedMetric> metric_;
    std::vector<Snap> places_;
    std::unique_ptr<Kept> kept_;
};

/// A customizable contraction hierarchy behind the same promises as ReferenceRouter: equal answers
/// to the tenth of a second. Climbs the elimination tree from both ends and looks where the climbs
/// meet; where the way found rests on a timetable, a goal-directed search decides exactly. A search
/// workspace: one per thread, a few hundred KB, and 48 bytes per node once a timetable matters.
/// Cost per target: O(up arcs of its chain).
class HierarchyRouter final : public Router {
public:
    explicit HierarchyRouter(std::shared_ptr<const PreparedMetric> metric);
    ~HierarchyRouter() override;

    std::vector<std::optional<TravelTime>> travel_times(const Departure& departure,
                                                        std::span<const Snap> targets,
                                                        Seconds limit) override;
    std::optional<Route> route(const Departure& departure, const Snap& target) override;
    std::vector<Nearest> nearest(const Departure& departure, std::span<const Snap> targets,
                                 std::size_t count, Seconds limit,
                                 const std::function<bool(std::size_t)>& accept) override;
    /// The same for places that are kept: looks only at those near enough to matter.
    /// @param places of this router's prepared metric
    std::vector<Nearest> nearest(const Departure& departure, const PlaceIndex& places,
                                 std::size_t count, Seconds limit,
                                 const std::function<bool(std::size_t)>& accept);

private:
    class Search;
    std::shared_ptr<const PreparedMetric> metric_;
    std::unique_ptr<Search> search_;
};

}  // namespace waybourne::routing
