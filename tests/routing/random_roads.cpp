#include "tests/routing/random_roads.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>

namespace waybourne::tests {

using namespace routing;

void RandomRoads::add(NodeId from, NodeId to, Weight weight, std::optional<std::uint32_t> ferry,
                      Metres length) {
    NewPiece piece;
    piece.from = from;
    piece.to = to;
    piece.length = length;
    piece.backward = MeansSet{};
    piece.ferry = ferry;
    builder.add_piece(piece);
    weights.push_back(weight);
}

std::shared_ptr<const Metric> RandomRoads::metric() && {
    auto network = std::make_shared<const RoadNetwork>(builder.build());
    std::vector<std::uint32_t> typical(network->arc_count());
    std::vector<std::uint32_t> variance(network->arc_count());
    for (std::uint32_t piece = 0; piece < weights.size(); ++piece) {
        const ArcId arc = network->piece(PieceId{piece}).forward;
        typical[arc.value] = weights[piece].typical_ds;
        variance[arc.value] = static_cast<std::uint32_t>(weights[piece].variance_ds2);
    }
    return std::make_shared<const Metric>(network, std::move(typical), std::move(variance));
}

RandomRoads random_roads(const MadeNetwork& made, unsigned seed, double ferry_share) {
    std::mt19937 random{seed};
    RandomRoads roads;
    roads.builder.keep_node_order(true);
    for (std::uint32_t node = 0; node < made.node_count(); ++node) {
        roads.builder.add_node({Latitude{made.latitude[node]}, Longitude{made.longitude[node]}});
    }
    for (std::uint32_t node = 0; node < made.node_count(); ++node) {
        for (std::uint32_t arc = made.first_out[node]; arc < made.first_out[node + 1]; ++arc) {
            const Metres length{static_cast<double>(random() % 3000)};
            if (static_cast<double>(random() % 10000) < ferry_share * 10000) {
                const std::chrono::minutes first{random() % 120};
                std::vector<Sailing> sailings;
                for (auto at = first; at < 7 * 24h;
                     at += std::chrono::minutes{20 + random() % 300}) {
                    sailings.push_back({at, at});
                }
                const auto crossing_s = std::max(1U, static_cast<std::uint32_t>(random() % 1200));
                const std::uint32_t ferry = roads.builder.add_ferry(
                    {Seconds{crossing_s}, Timetable{"Etc/UTC", sailings}, 0s, true});
                roads.add({node}, {made.head[arc]}, {crossing_s * 10, 0}, ferry, length);
                continue;
            }
            const std::uint32_t typical = 100 * static_cast<std::uint32_t>(random() % 40);
            roads.add({node}, {made.head[arc]}, {typical, typical * std::uint64_t{5 + arc % 7}},
                      std::nullopt, length);
        }
    }
    return roads;
}

std::shared_ptr<const Metric> with_extreme_weights(const Metric& metric, unsigned seed) {
    constexpr std::uint32_t greatest = 0xffffffffU;
    const std::vector<std::uint32_t> times{
        0, 1, closed_ds / 40, closed_ds / 7, closed_ds / 3, closed_ds / 2, closed_ds - 1};
    const std::vector<std::uint32_t> spreads{0, 1, greatest / 3, greatest - 1, greatest};
    std::mt19937 random{seed};
    std::vector<std::uint32_t> typical(metric.typical_ds().begin(), metric.typical_ds().end());
    std::vector<std::uint32_t> variance(typical.size());
    for (std::size_t arc = 0; arc < typical.size(); ++arc) {
        typical[arc] = random() % 3 == 0 ? times[random() % times.size()]
                                         : static_cast<std::uint32_t>(random() % (closed_ds / 90));
        variance[arc] = spreads[random() % spreads.size()];
    }
    return std::make_shared<const Metric>(metric.shared_network(), std::move(typical),
                                          std::move(variance));
}

std::shared_ptr<const PreparedMetric> prepared(const std::shared_ptr<const Metric>& metric) {
    return std::make_shared<const PreparedMetric>(metric, make_hierarchy(metric->network()));
}

std::vector<std::uint32_t> network_sizes(std::uint32_t first, std::uint32_t last) {
    const char* const given = std::getenv("WAYBOURNE_LARGEST_NETWORK");
    const std::uint64_t largest =
        std::max<std::uint64_t>(last, given == nullptr ? 0 : std::strtoull(given, nullptr, 10));
    std::vector<std::uint32_t> sizes;
    for (std::uint64_t size = first; size <= largest; size *= 10) {
        sizes.push_back(static_cast<std::uint32_t>(size));
    }
    return sizes;
}

RandomPlaces::RandomPlaces(const Metric& metric, unsigned seed) : metric_(metric), random_(seed) {
    const RoadNetwork& network = metric.network();
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const Piece& piece = network.piece(PieceId{number});
        if (!piece.is_ferry() && metric.is_open(piece)) {
            open_.push_back({number});
        }
    }
    REQUIRE_FALSE(open_.empty());
}

Snap RandomPlaces::one() {
    Snap snap;
    for (std::uint32_t i = 0; i < 1 + (below(10) == 0 ? 1U : 0U); ++i) {
        const PieceId id = piece();
        const Piece& on = metric_.network().piece(id);
        const std::uint32_t kind = below(4);
        const std::uint32_t along = kind == 0   ? 0
                                    : kind == 1 ? on.length_cm
                                                : below(std::size_t{on.length_cm} + 1);
        snap.accesses.push_back({id, along, to_geo_point(metric_.network().point(on.from)),
                                 Metres{below(3) == 0 ? below(900) * 1.0 : 0.0}});
    }
    return snap;
}

std::vector<Snap> RandomPlaces::several(std::size_t count) {
    std::vector<Snap> snaps;
    for (std::size_t i = 0; i < count; ++i) {
        snaps.push_back(one());
    }
    return snaps;
}

}  // namespace waybourne::tests
