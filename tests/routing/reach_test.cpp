#include "routing/reach.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <tuple>

#include "routing/reference_router.hpp"
#include "tests/routing/map_fixture.hpp"
#include "tests/routing/random_roads.hpp"
#include "tests/support/ascii_district.hpp"
#include "vocabulary/error.hpp"

// The oracle is ReferenceRouter (Boost.Graph): a point is inside if its way there is.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

bool is_inside(const RoadNetwork& network, const Reach& reach, PieceId version, std::uint32_t cm) {
    const PieceId piece = network.original(version);
    return std::any_of(
        reach.stretches.begin(), reach.stretches.end(), [&](const ReachedStretch& stretch) {
            return stretch.piece == piece && stretch.from_cm <= cm && cm <= stretch.to_cm;
        });
}

Snap at(PieceId piece, std::uint32_t cm) {
    Snap snap;
    snap.accesses.push_back({piece, cm, GeoPoint{Latitude{0}, Longitude{0}}, Metres{0}});
    return snap;
}

/// The cuts themselves and a centimetre to each side, and random points.
std::vector<std::pair<PieceId, std::uint32_t>> points_of(const Metric& metric, const Reach& reach,
                                                         RandomPlaces& random) {
    std::vector<std::pair<PieceId, std::uint32_t>> points;
    const auto add = [&](PieceId piece, std::int64_t cm) {
        const Piece& on = metric.network().piece(piece);
        if (!on.is_ferry() && metric.is_open(on) && cm >= 0 && cm <= on.length_cm) {
            points.emplace_back(piece, static_cast<std::uint32_t>(cm));
        }
    };
    for (std::size_t i = 0; i < std::min<std::size_t>(reach.stretches.size(), 30); ++i) {
        const ReachedStretch& stretch = reach.stretches[random.below(reach.stretches.size())];
        for (const std::int64_t cm : {stretch.from_cm, stretch.to_cm}) {
            // within two centimetres of a joint both sides may be inside without touching
            for (const std::int64_t aside : {-3, 0, 3}) {
                add(stretch.piece, cm + aside);
            }
        }
    }
    for (int i = 0; i < 60; ++i) {
        const PieceId piece = random.piece();
        add(piece, random.below(std::size_t{metric.network().piece(piece).length_cm} + 1));
    }
    return points;
}

/// Of several ways the one with the least typical time is meant, then the least allowed one.
void keep_quicker(const std::optional<TravelTime>& time, std::optional<TravelTime>& best) {
    const auto figures = [](const TravelTime& of) { return std::tuple{of.typical, of.allow}; };
    if (time && (!best || figures(*time) < figures(*best))) {
        best = time;
    }
}

/// Forward and backward, by typical and by allow, from one and from several places.
std::size_t compare_reach(const std::shared_ptr<const Metric>& metric, unsigned seed, int rounds,
                          std::uint32_t longest_s = 4000) {
    RandomPlaces random{*metric, seed};
    ReachSearch search{metric};
    ReferenceRouter oracle{metric};
    std::size_t compared = 0;
    for (int round = 0; round < rounds; ++round) {
        CAPTURE(seed);
        CAPTURE(round);
        const auto ends = random.several(1 + random.below(3));
        const Instant when{Seconds{random.below(7 * 86400)}};
        const Seconds limit{random.below(longest_s)};
        for (const JudgedBy judged_by : {JudgedBy::typical, JudgedBy::allow}) {
            const auto is_near = [&](const std::optional<TravelTime>& time) {
                return time &&
                       (judged_by == JudgedBy::typical ? time->typical : time->allow) <= limit;
            };
            const Reach out = search.from(ends, when, limit, judged_by);
            for (const auto& spot : points_of(*metric, out, random)) {
                const PieceId piece = spot.first;
                const std::uint32_t cm = spot.second;
                CAPTURE(piece.value);
                CAPTURE(cm);
                const Snap point = at(piece, cm);
                std::optional<TravelTime> best;
                for (const Snap& start : ends) {
                    keep_quicker(oracle.travel_times({start, when}, {&point, 1}, limit)[0], best);
                }
                REQUIRE(is_inside(metric->network(), out, piece, cm) == is_near(best));
                ++compared;
            }
            if (judged_by == JudgedBy::allow && metric->has_waits()) {
                continue;
            }
            const Reach back = judged_by == JudgedBy::allow ? search.to(ends, limit, judged_by)
                                                            : search.to(ends, when, limit);
            if (judged_by == JudgedBy::typical && !metric->has_waits()) {
                REQUIRE(back == search.to(ends, limit));
            }
            for (const auto& spot : points_of(*metric, back, random)) {
                const PieceId piece = spot.first;
                const std::uint32_t cm = spot.second;
                CAPTURE(piece.value);
                CAPTURE(cm);
                std::optional<TravelTime> best;
                for (const auto& time : oracle.travel_times({at(piece, cm), when}, ends, limit)) {
                    keep_quicker(time, best);
                }
                REQUIRE(is_inside(metric->network(), back, piece, cm) == is_near(best));
                ++compared;
            }
        }
    }
    return compared;
}

}  // namespace

TEST_CASE("Within the limit one is exactly on the stretches that are drawn") {
    // One column is one minute. From B in 2½ minutes: 2.5 km to either side of a 4 km road, 1 km to
    // A and no farther.
    const auto district = ascii_district("A-B---C");
    ReachSearch search{district.metric()};
    const Snap start = district.snap('B');
    const Reach reach = search.from({&start, 1}, {}, 150s);
    REQUIRE(reach.nodes.size() == 2);
    REQUIRE(reach.stretches.size() == 2);
    std::uint32_t covered_cm = 0;
    for (const ReachedStretch& stretch : reach.stretches) {
        covered_cm += stretch.to_cm - stretch.from_cm;
    }
    // a tenth of a second is 167 cm here, and what has not yet taken a whole one more is inside
    CHECK(covered_cm >= 200'000 + 250'000);
    CHECK(covered_cm <= 200'000 + 250'000 + 167);
    const auto lines = lines_of(*district.network(), reach);
    REQUIRE(lines.size() == 2);
    Metres drawn{0};
    for (const auto& line : lines) {
        for (std::size_t i = 1; i < line.size(); ++i) {
            drawn += great_circle_distance(line[i - 1], line[i]);
        }
    }
    // the drawing's kilometres are the earth's to a few metres
    CHECK(drawn.value() == doctest::Approx(4500).epsilon(0.01));
}

TEST_CASE("On made-up roads the edge of what is reached is exact to the centimetre, both ways") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 4; ++seed) {
        const auto made = make_network({.nodes = 100 * seed,
                                        .seed = seed,
                                        .one_way_share = 0.2,
                                        .islands = 2,
                                        .parallel_share = 0.05,
                                        .loop_share = 0.03});
        compared += compare_reach(random_roads(made, seed, 0).metric(), seed, 4);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 5'000);
}

TEST_CASE("In a whole country the edge of what is reached is exact, both ways") {
    std::size_t compared = 0;
    for (const std::uint32_t nodes : network_sizes(100'000, 100'000)) {
        CAPTURE(nodes);
        const auto made = make_network({.nodes = nodes, .seed = 8, .one_way_share = 0.1});
        compared += compare_reach(random_roads(made, 8, 0.001).metric(), 8, 1, 20'000);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 200);
}

TEST_CASE("With times near the longest that can be counted the edge is exact too") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 3; ++seed) {
        const auto made = make_network({.nodes = 80 * seed, .seed = seed, .one_way_share = 0.2});
        const auto metric = with_extreme_weights(*random_roads(made, seed, 0).metric(), seed);
        compared += compare_reach(metric, seed, 4, closed_ds / 10);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 1'000);
}

TEST_CASE(
    "Who sets out now and waits for ferries gets there in time exactly from where it is drawn") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 4; ++seed) {
        const auto made = make_network(
            {.nodes = 80 * seed, .seed = seed, .one_way_share = 0.2, .parallel_share = 0.05});
        compared += compare_reach(random_roads(made, seed, 0.1).metric(), seed, 4);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 2'000);
}

TEST_CASE("On a real map the edge of what is reached is exact to the centimetre, both ways") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    const auto metric = real_metric(*data, "andorra", {Surface::dry, Light::day});
    const std::size_t compared = compare_reach(metric, 2, 4);
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 500);
}

TEST_CASE("The ferry's far bank is reached once its wait is over, and the crossing drawn whole") {
    const auto district =
        ascii_district("A--B~~~C--D").ferry("BC", {.crosses = 10min, .leaves_every = 30min});
    ReachSearch search{district.metric()};
    const Snap start = district.snap('A');
    const Instant six{6h};
    // 3 minutes to the bank, 27 waiting, 10 crossing: C after 40, D after 43
    const auto reached = [&](Seconds limit) {
        return search.from({&start, 1}, six, limit).nodes.size();
    };
    CHECK(reached(40min - 1s) == 2);
    CHECK(reached(40min) == 3);
    CHECK(reached(43min) == 4);
    CHECK(search.from({&start, 1}, six, 41min).stretches.size() == 3);
    // who gets to A at whatever time without waiting: C in 13 minutes
    const Reach whenever = search.to({&start, 1}, 13min);
    CHECK(whenever.nodes.size() == 3);
    CHECK(whenever.has_timetables);
    // who sets out at six: C's boat leaves at once, D's people come too late for it and wait for
    // the next, 30 minutes later
    const Reach from_six = search.to({&start, 1}, six, 13min);
    REQUIRE(from_six.nodes.size() == 3);
    CHECK(search.to({&start, 1}, six, 43min - 1s).nodes.size() == 3);
    CHECK(search.to({&start, 1}, six, 43min).nodes.size() == 4);
    CHECK(search.to({&start, 1}, six + 1s, 42min).nodes.size() == 2);
    CHECK_FALSE(search.from({&start, 1}, six, 1min).has_timetables);
}

TEST_CASE("Who sets out before the gate opens waits there, and is still in time or is not") {
    // One column is one minute: A to D takes nine, and the gate between B and C opens at six.
    const auto district = ascii_district("A-B---C--D").hours("BC", "Mo-Su 06:00-18:00");
    ReachSearch search{district.metric()};
    const Snap target = district.snap('D');
    const auto is_in_time = [&](Instant at, Seconds limit) {
        const Reach reach = search.to({&target, 1}, at, limit);
        CHECK(reach.has_timetables);
        return std::any_of(reach.nodes.begin(), reach.nodes.end(), [&](const ReachedNode& node) {
            return node.node == district.node('A');
        });
    };
    const Instant six{6h};
    CHECK(is_in_time(six, 9min));
    CHECK_FALSE(is_in_time(six, 9min - 1s));
    // from A at 05:50: at the gate at 05:52, through at 06:00, at D at 06:07
    CHECK(is_in_time(six - 10min, 17min));
    CHECK_FALSE(is_in_time(six - 10min, 17min - 1s));
    // from A at 17:59 one comes to the gate too late, and waits until the morning
    CHECK_FALSE(is_in_time(six + 12h - 1min, 12h));
    CHECK(is_in_time(six + 12h - 1min, 12h + 8min));
    CHECK_FALSE(search.to({&target, 1}, six, 2min).has_timetables);
}

TEST_CASE("With gates all over the district the edge is exact, for those who wait too") {
    const ImportedMap map =
        import_osm(std::string(WAYBOURNE_SOURCE_DIR) + "/maps-sample/roads.osm", speed_table());
    const auto network = std::make_shared<const RoadNetwork>(map.network);
    const char* const hours[] = {"Mo-Su 06:00-18:00", "Mo-Fr 07:30-12:00,13:00-16:30",
                                 "Mo-Su 22:00-05:00"};
    std::vector<RoadChange> changes;
    for (std::uint32_t piece = 0; piece < network->piece_count(); piece += 9) {
        RoadChange change;
        change.where = network->piece(PieceId{piece}).road;
        change.hours = parse_timetable(hours[piece % 3], "Etc/UTC").timetable;
        changes.push_back(change);
    }
    const auto metric =
        std::make_shared<const Metric>(network, speed_rules(speed_table(), Means::car, {}), changes,
                                       std::span<const TemporaryLink>{}, Instant{});
    const std::size_t compared = compare_reach(metric, 5, 8);
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 1'000);
}

TEST_CASE("A limit of nothing reaches where one stands, a negative one and no start reach nobody") {
    const auto district = ascii_district("A--B");
    ReachSearch search{district.metric()};
    const Snap start = district.snap('A');
    CHECK(search.from({&start, 1}, {}, 0s).nodes.size() == 1);
    CHECK(search.from({&start, 1}, {}, -1s) == Reach{});
    CHECK(search.to({}, 1h) == Reach{});
    CHECK(search.from({&start, 1}, {}, Seconds::max()).nodes.size() == 2);
    const auto other = ascii_district("A--B--C--D--E");
    const Snap foreign = other.snap('E');
    CHECK_THROWS_AS(search.to({&foreign, 1}, 1h), InputError);
}
