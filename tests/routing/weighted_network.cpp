#include "tests/routing/weighted_network.hpp"

#include "routing/network_builder.hpp"
#include "routing/reference_router.hpp"

namespace waybourne::tests {

using namespace routing;

std::shared_ptr<const Metric> weighted_network(std::uint32_t nodes,
                                               const std::vector<WeightedArc>& arcs) {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    for (std::uint32_t node = 0; node < nodes; ++node) {
        builder.add_node({Latitude{0}, Longitude{node * 1e-4}});
    }
    for (const WeightedArc& arc : arcs) {
        builder.add_piece({.from = {arc.tail},
                           .to = {arc.head},
                           .length = Metres{1000},
                           .attributes = {},
                           .name = "",
                           .road = {},
                           .shape = {},
                           .forward = MeansSet::all(),
                           .backward = MeansSet{},
                           .ferry = std::nullopt});
    }
    const auto network = std::make_shared<const RoadNetwork>(builder.build());
    std::vector<std::uint32_t> typical(arcs.size());
    std::vector<std::uint32_t> variance(arcs.size());
    for (std::uint32_t i = 0; i < arcs.size(); ++i) {
        const ArcId arc = network->piece(PieceId{i}).forward;
        typical[arc.value] = arcs[i].typical_ds;
        variance[arc.value] = arcs[i].variance_ds2;
    }
    return std::make_shared<const Metric>(network, typical, variance);
}

std::vector<WeightedArc> both_ways(std::vector<WeightedArc> arcs) {
    const std::size_t count = arcs.size();
    for (std::size_t i = 0; i < count; ++i) {
        WeightedArc back = arcs[i];
        std::swap(back.tail, back.head);
        arcs.push_back(back);
    }
    return arcs;
}

std::vector<Snap> node_snaps(const RoadNetwork& network) {
    std::vector<Snap> snaps(network.node_count());
    const auto place = [&](NodeId node, PieceId piece, std::uint32_t along_cm) {
        Snap& snap = snaps[node.value];
        if (snap.accesses.empty()) {
            snap.point = to_geo_point(network.point(node));
            snap.accesses = {{piece, along_cm, snap.point, Metres{0}}};
        }
    };
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const Piece& piece = network.piece(PieceId{number});
        if (!piece.is_ferry()) {
            place(piece.from, {number}, 0);
            place(piece.to, {number}, piece.length_cm);
        }
    }
    return snaps;
}

std::vector<std::optional<Seconds>> typical_from(const std::shared_ptr<const Metric>& metric,
                                                 std::uint32_t node) {
    const auto snaps = node_snaps(metric->network());
    const auto times =
        ReferenceRouter(metric).travel_times({snaps[node], {}}, snaps, Seconds::max());
    std::vector<std::optional<Seconds>> typical;
    for (const auto& time : times) {
        typical.push_back(time ? std::optional(time->typical) : std::nullopt);
    }
    return typical;
}

std::vector<OracleArc> oracle_arcs(const Metric& metric) {
    const RoadNetwork& network = metric.network();
    std::vector<OracleArc> arcs;
    for (std::uint32_t number = 0; number < network.arc_count(); ++number) {
        const ArcId arc{number};
        if (metric.is_open(arc)) {
            arcs.push_back(
                {network.tail(arc).value, network.head(arc).value, metric.weight(arc).typical_ds});
        }
    }
    return arcs;
}

std::vector<WeightedArc> random_arcs(std::uint32_t nodes, double density, std::mt19937& random) {
    std::uniform_int_distribution<std::uint32_t> node(0, nodes - 1);
    std::uniform_int_distribution<std::uint32_t> typical(0, 500);
    std::uniform_int_distribution<std::uint32_t> variance(0, 100'000);
    std::vector<WeightedArc> arcs(static_cast<std::size_t>(nodes * density));
    for (WeightedArc& arc : arcs) {
        arc = {node(random), node(random), typical(random) * 10, variance(random)};
        if (arc.typical_ds < 200) {
            arc.typical_ds = 0;
        }
    }
    return arcs;
}

}  // namespace waybourne::tests
