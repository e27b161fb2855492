#include "dispatch/rendezvous.hpp"

#include <doctest/doctest.h>

#include <array>
#include <numeric>
#include <random>

#include "routing/prepared_metric.hpp"
#include "routing/reference_router.hpp"
#include "tests/routing/random_roads.hpp"

namespace waybourne::dispatch {

namespace {

/// The earliest arrival over all nodes, every leg asked of the router, node by node.
std::optional<Instant> by_brute_force(const TwoVehicles& two) {
    routing::ReferenceRouter first(two.first);
    routing::ReferenceRouter second(two.second);
    std::optional<Instant> best;
    for (std::uint32_t node = 0; node < two.first->network().node_count(); ++node) {
        const auto snap = snap_at(*two.second, routing::NodeId{node});
        if (!snap) {
            continue;
        }
        const std::array there{*snap};
        const auto one = first.travel_times({two.her, two.first_leaves}, there, two.limit)[0];
        const auto other =
            second.travel_times({two.second_from, two.second_leaves}, there, two.limit)[0];
        if (!one || !other) {
            continue;
        }
        const Instant leaves =
            std::max(two.first_leaves + one->typical, two.second_leaves + other->typical) +
            two.transfer;
        const auto onward =
            second.travel_times({*snap, leaves}, std::array{two.place}, two.limit)[0];
        if (onward && (!best || leaves + onward->typical < *best)) {
            best = leaves + onward->typical;
        }
    }
    return best;
}

/// The same roads, driven at another speed.
std::shared_ptr<const routing::Metric> slower(const routing::Metric& metric, std::uint32_t factor) {
    std::vector<std::uint32_t> typical;
    for (const std::uint32_t ds : metric.typical_ds()) {
        typical.push_back(ds >= routing::closed_ds ? ds : ds * factor);
    }
    return std::make_shared<const routing::Metric>(
        metric.shared_network(), std::move(typical),
        std::vector<std::uint32_t>(metric.variance_ds2().begin(), metric.variance_ds2().end()));
}

/// Contracted in an order drawn at random: the answers do not depend on it.
std::shared_ptr<const routing::Hierarchy> hierarchy_of(const routing::RoadNetwork& network,
                                                       unsigned seed) {
    std::vector<std::uint32_t> order(network.node_count());
    std::iota(order.begin(), order.end(), 0U);
    std::shuffle(order.begin(), order.end(), std::mt19937{seed});
    return std::make_shared<const routing::Hierarchy>(
        routing::Hierarchy::build(routing::view_of(network), order));
}

std::shared_ptr<const routing::SweptMetric> swept(
    const std::shared_ptr<const routing::Metric>& metric,
    const std::shared_ptr<const routing::Hierarchy>& hierarchy) {
    return std::make_shared<const routing::SweptMetric>(
        std::make_shared<const routing::PreparedMetric>(metric, hierarchy));
}

}  // namespace

TEST_CASE("No meeting point of the whole network would bring her there sooner") {
    constexpr unsigned trials = 400;
    int met = 0;
    int with_ferries = 0;
    for (unsigned seed = 1; seed <= trials; ++seed) {
        CAPTURE(seed);
        tests::MadeNetworkSettings made;
        made.nodes = 60;
        made.seed = seed;
        const double ferries = seed % 2 == 0 ? 0.1 : 0;
        const auto fast = tests::random_roads(tests::make_network(made), seed, ferries).metric();
        tests::RandomPlaces places(*fast, seed);
        routing::ReferenceRouter onward(fast);
        const Instant start{std::chrono::sys_days{std::chrono::year{2026} / 3 / 4} + 9h};
        const auto slow = slower(*fast, 3);
        TwoVehicles two{places.one(),
                        start + std::chrono::minutes{places.below(30)},
                        slow,
                        places.one(),
                        start + std::chrono::minutes{places.below(30)},
                        fast,
                        &onward,
                        places.one(),
                        5min,
                        24h};
        const auto found = best_rendezvous(two);
        const auto expected = by_brute_force(two);
        REQUIRE(found.has_value() == expected.has_value());
        if (found) {
            CHECK(found->arrives == *expected);
            ++met;
            with_ferries += seed % 2 == 0 ? 1 : 0;
        }
        routing::ReferenceRouter first(slow);
        const auto hierarchy = hierarchy_of(fast->network(), seed);
        two.first_router = &first;
        two.first_swept = swept(slow, hierarchy);
        two.second_swept = swept(fast, hierarchy);
        const auto by_passes = best_rendezvous(two);
        REQUIRE(by_passes.has_value() == expected.has_value());
        if (by_passes) {
            CHECK(by_passes->arrives == *expected);
            // where no timetable matters they are the same in everything
            CHECK((fast->has_waits() || *by_passes == *found));
        }
    }
    MESSAGE(met << " meetings, " << with_ferries << " of them where ferries sail");
    CHECK(met > 20);
    CHECK(with_ferries > 5);
}

}  // namespace waybourne::dispatch
