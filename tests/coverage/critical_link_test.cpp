#include "coverage/critical_link.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <iostream>
#include <map>

#include "tests/routing/random_roads.hpp"
#include "tests/support/ascii_district.hpp"
#include "tests/support/made_network.hpp"

using namespace waybourne;
using namespace waybourne::coverage;
using namespace waybourne::routing;

namespace {

/// H to X and X to V 20 minutes each, X to W 30, and the long way from H to W 100: down 55, east
/// 20, up 25. One column or row is one minute.
tests::AsciiDistrict valley() {
    std::vector<std::string> rows(56, std::string(41, ' '));
    rows[0] = "H-------------------X-------------------V";
    for (std::size_t row = 1; row < 55; ++row) {
        rows[row][0] = '|';
        rows[row][20] = '|';
    }
    rows[30][20] = 'W';
    rows[55] = "C-------------------D                    ";
    std::string drawing;
    for (const std::string& row : rows) {
        drawing += row + "\n";
    }
    return tests::ascii_district(drawing);
}

std::shared_ptr<const NearestPlaces> base_of(const std::shared_ptr<const Metric>& metric,
                                             std::vector<Snap> places,
                                             std::vector<Snap> settlements) {
    std::vector<bool> capable(places.size(), true);
    return std::make_shared<const NearestPlaces>(metric, std::move(places), capable,
                                                 std::move(settlements));
}

PieceId between(const RoadNetwork& network, NodeId a, NodeId b) {
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const Piece& piece = network.piece(PieceId{number});
        if ((piece.from == a && piece.to == b) || (piece.from == b && piece.to == a)) {
            return {number};
        }
    }
    FAIL("no such road");
    return {};
}

/// The definition: everything computed anew on the roads without it.
Failure recomputed(const NearestPlaces& base, const std::vector<double>& births, Seconds standard,
                   std::span<const PieceId> closed) {
    const NearestPlaces after(std::make_shared<const Metric>(base.metric().without(closed)),
                              base.places(), base.is_capable(), base.settlements());
    Failure made;
    for (std::size_t i = 0; i < births.size(); ++i) {
        const auto was = base.of_settlement(i);
        const auto is = after.of_settlement(i);
        const auto in_time = [&](const std::optional<NearestPlace>& nearest) {
            return nearest && nearest->travel_time.allow <= standard;
        };
        const auto minutes = [](const std::optional<NearestPlace>& nearest) {
            return nearest
                       ? std::min(1440.0,
                                  static_cast<double>(nearest->travel_time.typical.count()) / 60)
                       : 1440.0;
        };
        made.births_lost += births[i] * (in_time(was) - in_time(is));
        made.births_cut_off += was && !is ? births[i] : 0;
        made.birth_minutes_added += births[i] * (minutes(is) - minutes(was));
    }
    return made;
}

bool is_equal(const Failure& a, const Failure& b) {
    return std::abs(a.births_lost - b.births_lost) < 1e-6 &&
           std::abs(a.births_cut_off - b.births_cut_off) < 1e-6 &&
           std::abs(a.birth_minutes_added - b.birth_minutes_added) < 1e-3;
}

}  // namespace

TEST_CASE("Which road of the valley matters most, as worked by hand") {
    // base 40 and 50 minutes, 150 births within the hour; a day counts for who is cut off
    const auto roads = valley();
    const auto metric = roads.metric();
    CriticalLinks links(base_of(metric, {roads.snap('H')}, {roads.snap('V'), roads.snap('W')}),
                        {100, 50}, 60min);
    const auto failure = [&](char a, char b) {
        const PieceId piece = between(metric->network(), roads.node(a), roads.node(b));
        return links.failure_of(std::span(&piece, 1));
    };
    CHECK(is_equal(failure('H', 'X'), {150, 0, 100 * 110 + 50 * 50}));
    CHECK(is_equal(failure('X', 'V'), {100, 100, 100 * 1400}));
    CHECK(is_equal(failure('X', 'W'), {50, 0, 2500}));
    CHECK(failure('H', 'C') == Failure{});
    SUBCASE("the list has the three that matter, the worst first") {
        const auto all = links.all();
        REQUIRE(all.size() == 3);
        CHECK(all[0].failure.births_lost == 150);
        CHECK(all[2].failure.births_lost == 50);
        SUBCASE("and the pair of the two roads to W is worse than either") {
            const auto pairs = links.pairs(all);
            CHECK(pairs.size() == 3);
            CHECK(pairs[0].failure.births_lost == 150);
        }
    }
    SUBCASE("without the only place everybody is cut off") {
        const auto places = links.places();
        REQUIRE(places.size() == 1);
        CHECK(places[0].failure.births_cut_off == 150);
    }
}

TEST_CASE(
    "Every road's failure equals everything computed anew, on networks of up to 2,000 nodes") {
    std::size_t compared = 0;
    for (const std::uint32_t nodes : {60U, 400U, 2000U}) {
        CAPTURE(nodes);
        const auto made = tests::make_network({.nodes = nodes, .seed = nodes});
        const auto metric = tests::random_roads(made, nodes, 0).metric();
        tests::RandomPlaces random{*metric, nodes};
        const auto base = base_of(metric, random.several(3), random.several(nodes / 8));
        std::vector<double> births;
        for (std::size_t i = 0; i < base->settlements().size(); ++i) {
            births.push_back(1 + random.below(40));
        }
        CriticalLinks links(base, births, 10min);
        const auto all = links.all();
        CHECK(!all.empty());
        std::map<PieceId, Failure> told;
        for (const CriticalLink& link : all) {
            told[link.piece] = link.failure;
        }
        // all of the small ones, every seventh of the largest
        const std::uint32_t step = nodes > 1000 ? 7 : 1;
        for (std::uint32_t number = 0; number < metric->network().piece_count(); number += step) {
            const PieceId piece{number};
            const Failure anew = recomputed(*base, births, 10min, std::span(&piece, 1));
            const auto found = told.find(piece);
            CHECK(is_equal(found == told.end() ? Failure{} : found->second, anew));
            ++compared;
        }
        for (const CriticalPair& pair : links.pairs(all, 4)) {
            const std::array both{pair.first, pair.second};
            CHECK(is_equal(pair.failure, recomputed(*base, births, 10min, both)));
            ++compared;
        }
    }
    std::cout << compared << " failures compared with everything computed anew\n";
}

TEST_CASE("Long work can be stopped") {
    const auto roads = valley();
    CriticalLinks links(base_of(roads.metric(), {roads.snap('H')}, {roads.snap('V')}), {100},
                        60min);
    std::stop_source stop;
    stop.request_stop();
    CHECK_THROWS_AS(links.all({.stop = stop.get_token()}), Unavailable);
    CHECK_THROWS_AS(CriticalLinks(base_of(roads.metric(), {roads.snap('H')}, {}), {1}, 1h),
                    InputError);
}
