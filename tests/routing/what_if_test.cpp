#include "routing/what_if.hpp"

#include <doctest/doctest.h>

#include <chrono>

#include "routing/reference_router.hpp"
#include "tests/routing/map_fixture.hpp"
#include "tests/routing/random_roads.hpp"
#include "tests/support/ascii_district.hpp"
#include "vocabulary/error.hpp"

// The oracle is everything computed anew: NearestPlaces on the changed roads and places, which is
// itself held to ReferenceRouter (Boost.Graph), one settlement at a time.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

std::vector<std::optional<NearestPlace>> all_of(const NearestPlaces& nearest) {
    std::vector<std::optional<NearestPlace>> all;
    for (std::size_t i = 0; i < nearest.settlements().size(); ++i) {
        all.push_back(nearest.of_settlement(i));
    }
    return all;
}

/// What the changes say, laid over the base.
std::vector<std::optional<NearestPlace>> with_changes(const NearestPlaces& base,
                                                      std::span<const SettlementChange> changes) {
    auto all = all_of(base);
    for (const SettlementChange& change : changes) {
        REQUIRE(change.before == all.at(change.settlement));
        REQUIRE(change.before != change.after);
        all[change.settlement] = change.after;
    }
    return all;
}

std::vector<bool> random_capable(std::size_t count, RandomPlaces& random) {
    std::vector<bool> capable;
    for (std::size_t i = 0; i < count; ++i) {
        capable.push_back(random.below(2) == 0);
    }
    return capable;
}

/// Holds every settlement's nearest place to the reference router.
std::size_t hold_to_reference(const NearestPlaces& nearest,
                              const std::shared_ptr<const Metric>& metric) {
    ReferenceRouter oracle{metric};
    const ReadyAfter capable =
        ready_if([&](std::size_t place) { return bool{nearest.is_capable()[place]}; });
    for (std::size_t i = 0; i < nearest.settlements().size(); ++i) {
        CAPTURE(i);
        const auto found = oracle.nearest({nearest.settlements()[i], {}}, nearest.places(), 1,
                                          Seconds::max(), capable);
        const auto ours = nearest.of_settlement(i);
        REQUIRE(ours.has_value() == !found.empty());
        if (ours) {
            // two places in the same second: the router names the lower number of them
            REQUIRE(ours->travel_time.typical == found[0].travel_time.typical);
            if (ours->place == found[0].target) {
                REQUIRE(ours->travel_time == found[0].travel_time);
            }
        }
    }
    return nearest.settlements().size();
}

std::shared_ptr<const Metric> with_weights(const Metric& metric,
                                           const std::vector<ChangedRoad>& roads) {
    std::vector<std::uint32_t> typical(metric.typical_ds().begin(), metric.typical_ds().end());
    std::vector<std::uint32_t> variance(metric.variance_ds2().begin(), metric.variance_ds2().end());
    for (const ChangedRoad& road : roads) {
        each_version(metric.network(), road.piece, [&](PieceId version) {
            const Piece& piece = metric.network().piece(version);
            for (const auto& [arc, weight] : {std::pair(piece.forward, road.forward),
                                              std::pair(piece.backward, road.backward)}) {
                if (arc.exists()) {
                    typical[arc.value] = weight ? weight->typical_ds : closed_ds;
                    variance[arc.value] =
                        weight ? static_cast<std::uint32_t>(weight->variance_ds2) : 0;
                }
            }
        });
    }
    return std::make_shared<const Metric>(metric.shared_network(), std::move(typical),
                                          std::move(variance));
}

/// One random planned change without a new road.
PlannedChange random_change(const Metric& metric, std::size_t place_count, RandomPlaces& random) {
    PlannedChange change;
    for (std::uint32_t i = random.below(3); i > 0; --i) {
        change.new_places.push_back(random.one());
    }
    for (std::uint32_t i = random.below(3); i > 0; --i) {
        const std::uint32_t place = random.below(place_count);
        (random.below(2) == 0 ? change.gained : change.lost).push_back(place);
        std::erase_if(change.gained, [&](std::uint32_t gained) {
            return std::count(change.lost.begin(), change.lost.end(), gained) > 0;
        });
    }
    for (std::uint32_t i = random.below(6); i > 0; --i) {
        const PieceId piece = random.piece();
        const auto changed = [&](ArcId arc) -> std::optional<Weight> {
            if (!metric.is_open(arc) || random.below(3) == 0) {
                return std::nullopt;
            }
            const Weight now = metric.weight(arc);
            return random.below(2) == 0
                       ? Weight{now.typical_ds / 2, now.variance_ds2 / 2}
                       : Weight{std::min(closed_ds - 1, now.typical_ds * 2),
                                std::min<std::uint64_t>(0xffffffffU, now.variance_ds2 * 2)};
        };
        change.changed_roads.push_back({piece, changed(metric.network().piece(piece).forward),
                                        changed(metric.network().piece(piece).backward)});
    }
    return change;
}

/// Random changes, each held to computing everything anew; returns how many settlements were
/// compared.
std::size_t compare_changes(const std::shared_ptr<const Metric>& metric, unsigned seed,
                            std::size_t place_count, std::size_t settlements, int changes) {
    RandomPlaces random{*metric, seed};
    const auto base = std::make_shared<const NearestPlaces>(metric, random.several(place_count),
                                                            random_capable(place_count, random),
                                                            random.several(settlements));
    WhatIf what_if{base};
    std::size_t compared = 0;
    for (int i = 0; i < changes; ++i) {
        CAPTURE(seed);
        CAPTURE(i);
        const PlannedChange change = random_change(*metric, place_count, random);
        std::vector<Snap> places = base->places();
        std::vector<bool> capable = base->is_capable();
        for (const std::uint32_t place : change.gained) {
            capable[place] = true;
        }
        for (const std::uint32_t place : change.lost) {
            capable[place] = false;
        }
        for (const Snap& place : change.new_places) {
            places.push_back(place);
            capable.push_back(true);
        }
        const NearestPlaces anew{with_weights(*metric, change.changed_roads), places, capable,
                                 base->settlements()};
        REQUIRE(with_changes(*base, what_if.evaluate(change)) == all_of(anew));
        compared += settlements;
    }
    return compared;
}

}  // namespace

TEST_CASE("Every settlement's nearest place is the one the router finds from there") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 4; ++seed) {
        const auto made = make_network({.nodes = 300 * seed,
                                        .seed = seed,
                                        .one_way_share = 0.2,
                                        .islands = seed,
                                        .closed_share = 0.05,
                                        .parallel_share = 0.05,
                                        .loop_share = 0.03});
        const auto metric = random_roads(made, seed, 0).metric();
        RandomPlaces random{*metric, seed};
        const NearestPlaces nearest{metric, random.several(20), random_capable(20, random),
                                    random.several(150)};
        compared += hold_to_reference(nearest, metric);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared == 600);
}

TEST_CASE("A place or a road gained, lost or changed gives what computing everything anew gives") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 6; ++seed) {
        const auto made = make_network({.nodes = 200 * seed,
                                        .seed = 20 + seed,
                                        .one_way_share = 0.2,
                                        .islands = seed,
                                        .parallel_share = 0.05,
                                        .loop_share = 0.03});
        compared += compare_changes(random_roads(made, seed, 0).metric(), seed, 3 * seed, 100, 60);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared == 36'000);
}

TEST_CASE("On real maps too a planned change gives what computing everything anew gives") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    std::size_t compared = 0;
    each_real_map([&](const std::string& name) {
        const auto metric = real_metric(*data, name, {Surface::wet, Light::night});
        // weights as given, so that the changed ones differ in nothing else
        compared += compare_changes(with_weights(*metric, {}), 5, 12, 300, 30);
    });
    MESSAGE("comparisons: " << compared);
    CHECK(compared == 36'000);
}

TEST_CASE("A new road between two places gives what a map with that road gives") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 20; ++seed) {
        CAPTURE(seed);
        const auto made =
            make_network({.nodes = 250, .seed = 40 + seed, .one_way_share = 0.2, .islands = 2});
        const auto metric = random_roads(made, seed, 0).metric();
        RandomPlaces random{*metric, seed};
        const auto places = random.several(6);
        const auto settlements = random.several(150);
        const std::vector<bool> capable(6, true);
        const auto base =
            std::make_shared<const NearestPlaces>(metric, places, capable, settlements);
        RandomRoads more = random_roads(made, seed, 0);
        PlannedChange change;
        for (int road = 0; road < 2; ++road) {
            const PieceId from = random.piece();
            const PieceId to = random.piece();
            const auto& network = metric->network();
            const auto at_start = [&](PieceId piece) {
                Snap snap;
                snap.accesses.push_back(
                    {piece, 0, to_geo_point(network.point(network.piece(piece).from)), Metres{0}});
                return snap;
            };
            const Weight there{10 * random.below(100), random.below(1000)};
            const std::optional<Weight> back =
                random.below(2) == 0 ? std::nullopt : std::optional(there);
            change.new_roads.push_back({at_start(from), at_start(to), there, back});
            more.add(network.piece(from).from, network.piece(to).from, there);
            if (back) {
                more.add(network.piece(to).from, network.piece(from).from, *back);
            }
        }
        const NearestPlaces anew{std::move(more).metric(), places, capable, settlements};
        WhatIf what_if{base};
        REQUIRE(with_changes(*base, what_if.evaluate(change)) == all_of(anew));
        compared += settlements.size();
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared == 3'000);
}

TEST_CASE("A bridge from the middle of one road to the middle of another serves both banks") {
    // One column or row is one minute. H is the hospital; the river has no bridge.
    const auto district = ascii_district(R"(
        A---------B-------------------H
        |
        |
        C---------D
    )");
    const auto base = std::make_shared<const NearestPlaces>(
        district.metric(), std::vector<Snap>{district.snap('H')}, std::vector<bool>{true},
        std::vector<Snap>{district.snap('A'), district.snap('C'), district.snap('D')});
    CHECK(base->of_settlement(2)->travel_time.typical == 43min);
    // from 6 km east of C to 6 km east of A, two minutes across
    const auto part_way = [&](char from) {
        Snap snap = district.snap(from);
        const auto network = district.network();
        for (std::uint32_t piece = 0; piece < network->piece_count(); ++piece) {
            if (network->piece(PieceId{piece}).from == district.node(from) &&
                network->piece(PieceId{piece}).length_cm == 1'000'000) {
                snap.accesses = {{{piece}, 600'000, snap.point, Metres{0}}};
            }
        }
        return snap;
    };
    const Weight two_minutes{1200, 0};
    WhatIf what_if{base};
    const auto changes =
        what_if.evaluate({.new_roads = {{part_way('C'), part_way('A'), two_minutes, two_minutes}}});
    // D: 4 to the bridge, 2 across, 24 to H. C: 6 + 2 + 24 instead of 3 + 30. A stays.
    REQUIRE(changes.size() == 2);
    CHECK(changes[0].settlement == 1);
    CHECK(changes[0].after->travel_time.typical == 32min);
    CHECK(changes[1].settlement == 2);
    CHECK(changes[1].after->travel_time.typical == 30min);
}

TEST_CASE("A place more never makes anybody's way longer, a road less never makes it shorter") {
    const auto made = make_network({.nodes = 1500, .seed = 3, .islands = 3});
    const auto metric = random_roads(made, 3, 0).metric();
    RandomPlaces random{*metric, 3};
    const auto base = std::make_shared<const NearestPlaces>(
        metric, random.several(8), std::vector<bool>(8, true), random.several(300));
    WhatIf what_if{base};
    std::size_t better = 0;
    std::size_t worse = 0;
    for (int i = 0; i < 100; ++i) {
        for (const auto& change : what_if.evaluate({.new_places = {random.one()}})) {
            REQUIRE(change.after);
            CHECK(change.after->place == 8);
            if (change.before) {
                CHECK(change.after->travel_time.typical <= change.before->travel_time.typical);
            }
            ++better;
        }
        for (const auto& change :
             what_if.evaluate({.changed_roads = {{random.piece(), std::nullopt, std::nullopt}}})) {
            REQUIRE(change.before);
            if (change.after) {
                CHECK(change.before->travel_time.typical <= change.after->travel_time.typical);
            }
            ++worse;
        }
    }
    CHECK(better > 1000);
    CHECK(worse > 10);
}

TEST_CASE("Without any capable place nobody has one; the first to come serves all who reach it") {
    const auto district = ascii_district("A--B--C   D--E");
    const auto base = std::make_shared<const NearestPlaces>(
        district.metric(), std::vector<Snap>{district.snap('B')}, std::vector<bool>{false},
        std::vector<Snap>{district.snap('A'), district.snap('B'), district.snap('D')});
    for (std::size_t settlement = 0; settlement < 3; ++settlement) {
        CHECK_FALSE(base->of_settlement(settlement));
    }
    WhatIf what_if{base};
    const auto gained = what_if.evaluate({.gained = {0}});
    REQUIRE(gained.size() == 2);
    CHECK(gained[0] == SettlementChange{0, std::nullopt, NearestPlace{0, {3min, 3min}}});
    CHECK(gained[1] == SettlementChange{1, std::nullopt, NearestPlace{0, {0min, 0min}}});
    CHECK(what_if.evaluate({.lost = {0}}).empty());
    // two at once on one spot: the lower number is named
    const auto two = what_if.evaluate({.new_places = {district.snap('C'), district.snap('C')}});
    REQUIRE(two.size() == 2);
    CHECK(two[0].after == NearestPlace{1, {6min, 6min}});
    CHECK_THROWS_AS(what_if.evaluate({.lost = {1}}), InputError);
}

TEST_CASE("When the only place is lost nobody has one, and the next question starts from before") {
    const auto district = ascii_district("A--B--C");
    const auto base = std::make_shared<const NearestPlaces>(
        district.metric(), std::vector<Snap>{district.snap('A')}, std::vector<bool>{true},
        std::vector<Snap>{district.snap('B'), district.snap('C')});
    WhatIf what_if{base};
    const auto lost = what_if.evaluate({.lost = {0}});
    REQUIRE(lost.size() == 2);
    CHECK_FALSE(lost[1].after);
    CHECK(what_if.evaluate({}).empty());
    CHECK(what_if.evaluate({.gained = {0}}).empty());
}

TEST_CASE("In a whole country what a plan changes is what computing everything anew gives") {
    std::size_t compared = 0;
    std::size_t held = 0;
    for (const std::uint32_t nodes : network_sizes(100'000, 100'000)) {
        CAPTURE(nodes);
        const auto made = make_network({.nodes = nodes, .seed = 8, .one_way_share = 0.1});
        const auto metric = random_roads(made, 8, 0).metric();
        compared += compare_changes(metric, 8, 200, 1'000, 6);
        RandomPlaces random{*metric, 9};
        const auto places = random.several(200);
        held += hold_to_reference(
            {metric, places, random_capable(places.size(), random), random.several(40)}, metric);
    }
    MESSAGE("comparisons: " << compared << ", with the reference router: " << held);
    CHECK(compared >= 6'000);
    CHECK(held >= 40);
}

TEST_CASE("What-ifs hold with times near the longest that can be counted") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 3; ++seed) {
        const auto made = make_network({.nodes = 150 * seed, .seed = seed, .one_way_share = 0.2});
        const auto metric = with_extreme_weights(*random_roads(made, seed, 0).metric(), seed);
        compared += compare_changes(metric, seed, 4 * seed, 60, 60);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared >= 10'000);
}

TEST_CASE("A planner sees thousands of candidate places a second on a district") {
    const auto made = make_network({.nodes = 10'000, .seed = 9});
    const auto metric = random_roads(made, 9, 0).metric();
    RandomPlaces random{*metric, 9};
    const auto base = std::make_shared<const NearestPlaces>(
        metric, random.several(60), std::vector<bool>(60, true), random.several(2000));
    WhatIf what_if{base};
    const auto candidates = random.several(2000);
    std::size_t changed = 0;
    std::size_t visited = 0;
    const auto begin = std::chrono::steady_clock::now();
    for (const Snap& candidate : candidates) {
        changed += what_if.evaluate({.new_places = {candidate}}).size();
        visited += what_if.visited_nodes();
    }
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begin;
    const auto anew_begin = std::chrono::steady_clock::now();
    const NearestPlaces anew{metric, base->places(), base->is_capable(), base->settlements()};
    const std::chrono::duration<double> anew_took = std::chrono::steady_clock::now() - anew_begin;
    MESSAGE("candidates a second: "
            << 2000 / took.count() << ", " << visited / 2000 << " nodes and " << changed / 2000
            << " settlements each; all anew: " << anew_took.count() * 1e3 << " ms");
    // a guard against recomputing everything, far from the usual figure
    CHECK(visited / 2000 < made.node_count() / 20);
    CHECK(changed > 2000);
}
