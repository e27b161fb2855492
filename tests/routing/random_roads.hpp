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

std::shared_ptr<const routing::PreparedMetric> prepared(
    const std::shared_ptr<const routing::Metric>& metric);

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
