/// From which size of map on the hierarchy answers sooner than the reference engine: what a
/// referral asks (the times to twenty places and the way to one of them) of both, in one process.

#include <algorithm>
#include <random>

#include "routing/hierarchy_router.hpp"
#include "routing/node_order.hpp"
#include "routing/reference_router.hpp"
#include "tests/bench/bench_network.hpp"
#include "tests/bench/figure.hpp"

using namespace waybourne;
using namespace waybourne::routing;

namespace {

constexpr int runs = 7;
constexpr double microseconds = 1e6;
constexpr std::size_t departures = 50;
constexpr std::size_t places = 20;

/// In the middle of any road.
Snap any_snap(const RoadNetwork& network, std::mt19937& random) {
    const PieceId id{static_cast<std::uint32_t>(random() % network.piece_count())};
    const Piece& piece = network.piece(id);
    const GeoPoint point = to_geo_point(network.point(piece.from));
    return {point, {{id, piece.length_cm / 2, point, Metres{0}}}};
}

double referral_seconds(Router& router, const std::vector<Snap>& starts,
                        const std::vector<Snap>& targets) {
    return bench::median(bench::query_seconds(runs, departures, [&](std::size_t i) {
        const Departure departure{starts[i], {}};
        bench::keep(router.travel_times(departure, targets, 48h).size());
        bench::keep(router.route(departure, targets[i % places]).has_value());
    }));
}

void measure(std::uint32_t nodes) {
    const auto network = std::make_shared<const RoadNetwork>(
        bench::road_network_of(bench::made_bench_network(nodes)));
    std::mt19937 random{nodes};
    std::vector<std::uint32_t> typical(network->arc_count());
    for (std::uint32_t& one : typical) {
        one = 100 + static_cast<std::uint32_t>(random() % 900);
    }
    const auto metric = std::make_shared<const Metric>(
        network, typical, std::vector<std::uint32_t>(typical.size(), 5000));
    std::vector<Snap> starts;
    std::vector<Snap> targets;
    for (std::size_t i = 0; i < departures; ++i) {
        starts.push_back(any_snap(*network, random));
    }
    for (std::size_t i = 0; i < places; ++i) {
        targets.push_back(any_snap(*network, random));
    }
    ReferenceRouter reference{metric};
    const GraphView graph = view_of(*network);
    HierarchyRouter hierarchy{std::make_shared<const PreparedMetric>(
        metric, std::make_shared<const Hierarchy>(
                    Hierarchy::build(graph, nested_dissection_order(graph, {}))))};
    const double by_reference = referral_seconds(reference, starts, targets);
    const double by_hierarchy = referral_seconds(hierarchy, starts, targets);
    bench::print({"engine", "a referral's ways by the hierarchy", by_hierarchy * microseconds, "µs",
                  "the reference engine, faster", "", std::to_string(nodes) + " nodes",
                  std::nullopt, by_reference / by_hierarchy});
}

}  // namespace

int main(int count, char** values) {
    const bench::Arguments arguments = bench::parse_arguments(count, values);
    if (arguments.wants("engine")) {
        for (const std::uint32_t nodes : {30U, 100U, 200U, 400U, 1000U, 3000U, 10'000U}) {
            measure(nodes);
        }
    }
    return 0;
}
