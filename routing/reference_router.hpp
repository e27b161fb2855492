#pragma once
/// The router that all others are compared with: Dijkstra's algorithm on Boost.Graph.

#include <memory>

#include "routing/metric.hpp"
#include "routing/router.hpp"

namespace waybourne::routing {

/// What never changes between searches, to be shared by the routers of all threads.
class ReferenceGraph;
std::shared_ptr<const ReferenceGraph> make_reference_graph(const RoadNetwork& network);

/// Dijkstra, Numerische Mathematik 1 (1959) 269-271, on Boost's compressed sparse row graph,
/// stopped once the answer is known: O((arcs + nodes) log nodes), less the nearer the targets are.
/// A search workspace: one per thread, about 40 bytes per node, made once; a query costs nothing
/// for nodes it does not reach.
///
/// Ferries: at a ferry with a timetable the trip waits for the next sailing. `typical` takes the
/// sailing that the typical arrival at the bank catches; `allow` takes the sailing that the allowed
/// arrival catches, and starts the spread afresh on the far bank: allow = that sailing's arrival +
/// the allow of the way after it. This is never less than the true 90th percentile of a sum of such
/// parts needs.
class ReferenceRouter final : public Router {
public:
    explicit ReferenceRouter(std::shared_ptr<const Metric> metric,
                             std::shared_ptr<const ReferenceGraph> graph = nullptr);
    ~ReferenceRouter() override;

    std::vector<std::optional<TravelTime>> travel_times(const Departure& departure,
                                                        std::span<const Snap> targets,
                                                        Seconds limit) override;
    std::optional<Route> route(const Departure& departure, const Snap& target) override;
    /// Makes a metric and a workspace anew: O(nodes + arcs).
    std::optional<Route> route_around(const Departure& departure, const Snap& target,
                                      std::span<const PieceId> avoided) override;
    std::vector<Nearest> nearest(const Departure& departure, std::span<const Snap> targets,
                                 std::size_t count, Seconds limit,
                                 const ReadyAfter& ready_after) override;

private:
    class Search;
    std::shared_ptr<const Metric> metric_;
    std::shared_ptr<const ReferenceGraph> graph_;
    std::unique_ptr<Search> search_;
};

}  // namespace waybourne::routing
