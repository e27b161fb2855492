#pragma once
/// Made networks as roads and ferries, and places anywhere on them.

#include <memory>
#include <random>
#include <vector>

#include "routing/network_builder.hpp"
#include "routing/prepared_metric.hpp"
#include "routing/snap.hpp"
#include "tests/support/made_network.hpp"

namespace waybourne::tests {

/// Roads before they are a network, so that a test can add one more.
struct RandomRoads {
    routing::NetworkBuilder builder;
    /// One per piece, in tenths of a second and their squares.
    std::vector<routing::Weight> weights;

    void add(routing::NodeId from, routing::NodeId to, routing::Weight weight,
             std::optional<std::uint32_t> ferry = std::nullopt, Metres length = Metres{1000});
    /// Every piece is one-way, forward.
    std::shared_ptr<const routing::Metric> metric() &&;
};

/// The arcs of a made network, some of them ferries with random timetables. Few different times, so
/// that many ways are equally quick.
RandomRoads random_roads(const MadeNetwork& made, unsigned seed, double ferry_share);

/// The same roads with times of nothing, of a tenth of a second, and up to the longest that can be
/// counted, and with spreads up to the greatest: sums of two of them do not go into 32 bits.
std::shared_ptr<const routing::Metric> with_extreme_weights(const routing::Metric& metric,
                                                            unsigned seed);

std::shared_ptr<const routing::PreparedMetric> prepared(
    const std::shared_ptr<const routing::Metric>& metric);

/// Numbers of nodes, each ten times the one before, from `first` to `last`, or on to
/// WAYBOURNE_LARGEST_NETWORK where that is more.
std::vector<std::uint32_t> network_sizes(std::uint32_t first, std::uint32_t last);

/// Anywhere on the open roads, some of it exactly at an end, some off the road.
class RandomPlaces {
public:
    RandomPlaces(const routing::Metric& metric, unsigned seed);

    std::uint32_t below(std::size_t bound) { return static_cast<std::uint32_t>(random_() % bound); }
    routing::PieceId piece() { return open_[below(open_.size())]; }
    routing::Snap one();
    std::vector<routing::Snap> several(std::size_t count);

private:
    const routing::Metric& metric_;
    std::mt19937 random_;
    std::vector<routing::PieceId> open_;
};

}  // namespace waybourne::tests
