#include "routing/metric.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>

#include "routing/network_builder.hpp"
#include "tests/routing/weighted_network.hpp"
#include "tests/support/ascii_district.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

/// One road of 10 km, one ferry of 2 km with a wait of 20 minutes that is assumed.
std::shared_ptr<const RoadNetwork> road_and_ferry(MeansSet may_use = MeansSet::all(),
                                                  bool sails_when_wet = false,
                                                  bool when_dry = true) {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    const NodeId a = builder.add_node({Latitude{0}, Longitude{0}});
    const NodeId b = builder.add_node({Latitude{0}, Longitude{0.1}});
    const NodeId c = builder.add_node({Latitude{0}, Longitude{0.12}});
    NewPiece road;
    road.from = a;
    road.to = b;
    road.length = Metres{10'000};
    road.name = "Hill road";
    road.forward = may_use;
    builder.add_piece(road);
    NewPiece crossing;
    crossing.from = b;
    crossing.to = c;
    crossing.length = Metres{2'000};
    crossing.attributes.kind.road_class = RoadClass::ferry;
    crossing.ferry = builder.add_ferry({.crossing = 10min,
                                        .timetable = std::nullopt,
                                        .assumed_wait = 20min,
                                        .sails_when_wet = sails_when_wet,
                                        .sails_when_dry = when_dry});
    builder.add_piece(crossing);
    return std::make_shared<const RoadNetwork>(builder.build());
}

SpeedRules rules(double kilometres_per_hour, Seconds spread) {
    return {.means = Means::car,
            .conditions = {},
            .on_road =
                [=](const RoadAttributes&) {
                    return RoadSpeed{kilometres_per_hour, spread};
                },
            .off_road = {3, 300s},
            .off_road_detour = 1.3,
            .ferry_spread = 60s};
}

}  // namespace

TEST_CASE("What she should allow is the 90th percentile of a log-normal time, worked out by hand") {
    // M = 3600 s, V = 360 s × M: V/M² = 0.1, ln 1.1 = 0.0953102, its root 0.3087234,
    // e^(1.2816 × 0.3087234) = 1.485367, times 3600 s = 5347.3 s.
    CHECK(allow_ds({36'000, 36'000ULL * 3'600}) == 53'473);
    // M = 600 s, V = M²: ln 2 = 0.6931472, its root 0.8325546, e^1.0670020 = 2.906652: 1744.0 s.
    CHECK(allow_ds({6'000, 36'000'000}) == 17'440);
    CHECK(allow_ds({36'000, 0}) == 36'000);
    CHECK(allow_ds({0, 0}) == 0);
    CHECK(to_travel_time(36'000, 53'473) == TravelTime{3600s, 5348s});
    CHECK(to_travel_time(1, 10) == TravelTime{1s, 1s});
}

TEST_CASE("More spread never means allowing less, and allowing is never less than typical") {
    for (const std::uint32_t typical : {1U, 10U, 600U, 36'000U}) {
        std::uint32_t last = typical;
        for (std::uint64_t variance = 0; variance < 1'000'000'000'000;
             variance = variance * 3 + 1) {
            const std::uint32_t allowed = allow_ds({typical, variance});
            CHECK(allowed >= last);
            CHECK(allowed <= closed_ds);
            last = allowed;
        }
    }
}

TEST_CASE("Going on never means having to allow less, however sure the rest of the way is") {
    // For a fixed V, d(allow)/dM > 0 as long as 1.2816·x / ((1 + x)·√ln(1 + x)) < 1 with x = V/M²;
    // its largest value is 0.82 (worked out by hand, near x = 3).
    for (const std::uint64_t variance : {100U, 10'000U, 4'000'000'000U}) {
        std::uint32_t last = 0;
        for (std::uint32_t typical = 1; typical < 1'000'000; typical += 1 + typical / 50) {
            const std::uint32_t allowed = allow_ds({typical, variance});
            CHECK(allowed >= last);
            last = allowed;
        }
    }
}

TEST_CASE("Ten kilometres at 40 km/h take a quarter of an hour") {
    const Metric metric(road_and_ferry(), rules(40, 120s));
    const Weight weight = metric.weight(metric.network().piece(PieceId{0}).forward);
    CHECK(weight.typical_ds == 9'000);
    // 120 s of variance per second: 120 × 900 s².
    CHECK(weight.variance_ds2 == 120 * 900 * 100);
}

TEST_CASE("A ferry whose hours the map lacks takes its crossing and a wait that is assumed") {
    const Metric metric(road_and_ferry(), rules(40, 120s));
    const Weight weight = metric.weight(metric.network().piece(PieceId{1}).forward);
    CHECK(weight.typical_ds == (10 + 20) * 600);
    // The crossing's 60 × 600 s², and a wait anywhere between 0 and 40 minutes: 2400²/12 s².
    CHECK(weight.variance_ds2 == (60 * 600 + 2400 * 2400 / 12) * 100);
}

TEST_CASE(
    "Up to three hours apart, ferries cost half the interval, and what is allowed covers it") {
    // Uniform on [0, 2w]: median w, variance (2w)²/12 = w²/3, 90th percentile 1.8 w.
    for (const Seconds wait : {Seconds{10min}, Seconds{45min}, Seconds{90min}}) {
        const auto ds = static_cast<std::uint64_t>(wait.count()) * 10;
        CHECK(wait_weight(wait) == Weight{static_cast<std::uint32_t>(ds), ds * ds / 3});
        CHECK(allow_ds(wait_weight(wait)) >= ds * 18 / 10);
    }
    CHECK(wait_weight(0s) == Weight{0, 0});
}

TEST_CASE("Seldom ferries cost nearly the whole interval, so that what is allowed is enough") {
    // Once a day, w = 12 h: 2 × (12 − 1.5) h surely and 1.5 h on average, 22.5 h in all, with the
    // variance of the latter, 1.5² / 3 h². Nine of ten wait at most 0.9 × 24 h = 21.6 h.
    const Weight daily = wait_weight(12h);
    CHECK(daily.typical_ds == 225 * 3'600);
    CHECK(daily.variance_ds2 == 54'000ULL * 54'000 / 3);
    // At the limit and a second beyond it the two rules meet.
    CHECK(wait_weight(longest_wait_with_spread + 1s).typical_ds ==
          wait_weight(longest_wait_with_spread).typical_ds + 20);
    for (Seconds wait = 30min; wait <= 84h; wait += 30min) {  // 84 h: once a week
        CAPTURE(wait.count());
        CHECK(allow_ds(wait_weight(wait)) >= static_cast<std::uint64_t>(wait.count()) * 18);
        // four on one way: their spread is kept
        CHECK(4 * wait_weight(wait).variance_ds2 < std::numeric_limits<std::uint32_t>::max());
    }
}

TEST_CASE("A ferry that does not sail in the wet is closed then") {
    SpeedRules wet = rules(40, 120s);
    wet.conditions.surface = Surface::wet;
    const Metric metric(road_and_ferry(), wet);
    CHECK_FALSE(metric.is_open(metric.network().piece(PieceId{1})));
    CHECK(metric.is_open(metric.network().piece(PieceId{0})));
}

TEST_CASE("A ferry of the wet season is closed on a dry day") {
    SpeedRules season = rules(40, 120s);
    const auto is_open = [&] {
        const Metric metric(road_and_ferry(MeansSet::all(), true, false), season);
        return metric.is_open(metric.network().piece(PieceId{1}));
    };
    CHECK_FALSE(is_open());
    season.conditions.surface = Surface::wet;
    CHECK(is_open());
}

TEST_CASE("Who may not use a road finds it closed in that direction only") {
    const Metric metric(road_and_ferry(MeansSet::all().without(Means::car)), rules(40, 120s));
    const Piece& piece = metric.network().piece(PieceId{0});
    CHECK_FALSE(metric.is_open(piece.forward));
    CHECK(metric.is_open(piece.backward));
    CHECK(metric.is_open(piece));
    SpeedRules on_foot = rules(5, 60s);
    on_foot.means = Means::on_foot;
    CHECK(Metric(road_and_ferry(MeansSet::all().without(Means::car)), on_foot)
              .is_open(piece.forward));
}

TEST_CASE("A closure concerns only those it names: people on foot still cross the bridge") {
    const auto network = road_and_ferry();
    const RoadChange closure{.id = "broken",
                             .where = RoadId{0},
                             .slower_by = std::nullopt,
                             .period = {},
                             .means = MeansSet::all().without(Means::on_foot),
                             .reason = "the deck is gone"};
    SpeedRules on_foot = rules(5, 60s);
    on_foot.means = Means::on_foot;
    const std::span<const RoadChange> changes(&closure, 1);
    CHECK_FALSE(
        Metric(network, rules(40, 0s), changes, {}, {}).is_open(network->piece(PieceId{0})));
    CHECK(Metric(network, on_foot, changes, {}, {}).is_open(network->piece(PieceId{0})));
}

TEST_CASE("Two slow-downs on one road multiply, and its spread grows with its time") {
    const auto network = road_and_ferry();
    RoadChange slow{.id = "mud",
                    .where = RoadName{"Hill road"},
                    .slower_by = 2,
                    .period = {},
                    .means = MeansSet::all(),
                    .reason = ""};
    const std::vector<RoadChange> twice{slow, slow};
    const Weight weight =
        Metric(network, rules(40, 120s), twice, {}, {}).weight(network->piece(PieceId{0}).forward);
    CHECK(weight.typical_ds == 36'000);
    CHECK(weight.variance_ds2 == 120 * 3600 * 100);
    slow.slower_by = 0.5;
    CHECK_THROWS_AS(Metric(network, rules(40, 120s), std::span<const RoadChange>(&slow, 1), {}, {}),
                    InputError);
    slow.slower_by = std::nan("");
    CHECK_THROWS_AS(Metric(network, rules(40, 120s), std::span<const RoadChange>(&slow, 1), {}, {}),
                    InputError);
}

TEST_CASE("A speed that is no speed is refused") {
    for (const double speed : {0.0, -1.0, std::nan(""), std::numeric_limits<double>::infinity()}) {
        CHECK_THROWS_AS(Metric(road_and_ferry(), rules(speed, 0s)), InputError);
    }
    CHECK_THROWS_AS(Metric(road_and_ferry(), rules(40, -1s)), InputError);
    CHECK_THROWS_AS(Metric(road_and_ferry(), {1, 2}, {1, 2, 3, 4}), InputError);
}

TEST_CASE("The parts of a road add up to the whole, however it is cut") {
    const Metric metric(road_and_ferry(), rules(37, 77s));
    const ArcId arc = metric.network().piece(PieceId{0}).forward;
    for (const std::uint32_t cut : {0U, 1U, 333'333U, 999'999U, 1'000'000U}) {
        const Weight first = metric.weight(arc, 0, cut);
        const Weight second = metric.weight(arc, cut, 1'000'000);
        CHECK(first.typical_ds + second.typical_ds == metric.weight(arc).typical_ds);
        CHECK(first.variance_ds2 + second.variance_ds2 == metric.weight(arc).variance_ds2);
    }
}

TEST_CASE("A kilometre off the road is walked with a detour that is assumed") {
    // 1.3 km at 3 km/h: 26 minutes; variance 300 s per second.
    const Metric metric(road_and_ferry(), rules(40, 0s));
    const Weight walk = metric.off_road(Metres{1000});
    CHECK(walk.typical_ds == 26 * 600);
    CHECK(walk.variance_ds2 == 300ULL * 26 * 60 * 100);
}

TEST_CASE("A very slow road is slow, not closed, and sums do not run over") {
    const Metric metric(road_and_ferry(), rules(1e-6, 0s));
    CHECK(metric.is_open(metric.network().piece(PieceId{0})));
    const auto far = weighted_network(3, {{0, 1, closed_ds - 1}, {1, 2, closed_ds - 1}});
    CHECK(typical_from(far, 0)[1]);
    CHECK_FALSE(typical_from(far, 0)[2]);
}
