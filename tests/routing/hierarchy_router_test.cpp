#include "routing/hierarchy_router.hpp"

#include <doctest/doctest.h>

#include <fstream>
#include <iterator>

#include "routing/reference_router.hpp"
#include "tests/routing/map_fixture.hpp"
#include "tests/routing/random_roads.hpp"
#include "tests/support/ascii_district.hpp"
#include "vocabulary/error.hpp"

// The oracle is ReferenceRouter (Boost.Graph), which tests of its own hold to LEMON and textbooks.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

constexpr Seconds no_limit = 1000h;
const ReadyAfter everybody = ready_if([](std::size_t) { return true; });

/// The nearest places under a random readiness: who never takes anybody, who opens later, who takes
/// only those who come early. The same from the list, from the kept places, from kept places that
/// came and went, and by what they offer.
std::size_t compare_nearest(const Departure& departure, const std::vector<Snap>& to, Seconds limit,
                            RandomPlaces& places, ReferenceRouter& oracle, HierarchyRouter& router,
                            const PlaceIndex& index) {
    const std::size_t count = places.below(5);
    const std::size_t modulus = 1 + places.below(4);
    const Seconds opens{places.below(9000)};
    const Seconds closes{places.below(20000)};
    std::vector<std::uint64_t> offers(to.size());
    for (std::uint64_t& offer : offers) {
        offer = places.below(8);
    }
    const std::uint64_t needed = places.below(4);
    const ReadyAfter by_arrival = [&](std::size_t target,
                                      const TravelTime& time) -> std::optional<Seconds> {
        if (target % modulus != 0 || (target % 3 == 0 && time.allow > closes)) {
            return std::nullopt;
        }
        return target % 2 == 0 ? std::max(time.allow, opens) : time.typical;
    };
    const ReadyAfter and_offered = [&](std::size_t target, const TravelTime& time) {
        return Offers{offers, needed}.has(target) ? by_arrival(target, time) : std::nullopt;
    };
    const auto nearest = oracle.nearest(departure, to, count, limit, by_arrival);
    REQUIRE(router.nearest(departure, to, count, limit, by_arrival) == nearest);
    REQUIRE(router.nearest(departure, index, count, limit, by_arrival) == nearest);
    const auto offered = oracle.nearest(departure, to, count, limit, and_offered);
    REQUIRE(router.nearest(departure, index, count, limit, by_arrival, {offers, needed}) ==
            offered);
    // one opens, another closes for good
    const Snap opened = places.one();
    const std::size_t closed = places.below(to.size());
    const auto changed = index.without(closed)->with(opened);
    std::vector<Snap> then = to;
    then.push_back(opened);
    const ReadyAfter without_closed = [&](std::size_t target, const TravelTime& time) {
        return target == closed ? std::nullopt : by_arrival(target, time);
    };
    REQUIRE(router.nearest(departure, *changed, count, limit, by_arrival) ==
            oracle.nearest(departure, then, count, limit, without_closed));
    return 4;
}

/// All questions of the interface, asked of both engines; returns how many answers were compared.
std::size_t compare(const std::shared_ptr<const Metric>& metric, unsigned seed,
                    std::size_t departures, std::size_t targets) {
    const auto ready = prepared(metric);
    ReferenceRouter oracle{metric};
    HierarchyRouter router{ready};
    RandomPlaces places{*metric, seed};
    const std::vector<Snap> to = places.several(targets);
    const PlaceIndex index{ready, to};
    std::size_t compared = 0;
    for (std::size_t i = 0; i < departures; ++i) {
        const Departure departure{places.one(), Instant{Seconds{places.below(7 * 86400)}}};
        const Seconds limit = places.below(3) == 0 ? Seconds{places.below(7200)} : no_limit;
        CAPTURE(seed);
        CAPTURE(i);
        const auto times = oracle.travel_times(departure, to, limit);
        const auto ours = router.travel_times(departure, to, limit);
        REQUIRE(router.travel_times({&departure, 1}, index, limit) == ours);
        for (std::size_t target = 0; target < to.size(); ++target) {
            CAPTURE(target);
            REQUIRE(ours[target].has_value() == times[target].has_value());
            if (times[target]) {
                REQUIRE(ours[target]->typical == times[target]->typical);
                REQUIRE(ours[target]->allow == times[target]->allow);
            }
        }
        compared += compare_nearest(departure, to, limit, places, oracle, router, index);
        const auto route = oracle.route(departure, to[i % to.size()]);
        const auto our_route = router.route(departure, to[i % to.size()]);
        REQUIRE(our_route.has_value() == route.has_value());
        if (route) {
            REQUIRE(our_route->travel_time == route->travel_time);
            Seconds legs{};
            for (const Leg& leg : our_route->legs) {
                legs += leg.travel_time.typical;
            }
            REQUIRE(legs == route->travel_time.typical);
        }
        std::vector<PieceId> avoided;
        for (std::uint32_t one = 0; one < 3; ++one) {
            avoided.push_back({places.below(metric->network().piece_count())});
        }
        for (const Access& access : to[i % to.size()].accesses) {
            if (places.below(4) == 0) {
                avoided.push_back(access.piece);
            }
        }
        const auto around = oracle.route_around(departure, to[i % to.size()], avoided);
        const auto our_around = router.route_around(departure, to[i % to.size()], avoided);
        REQUIRE(our_around.has_value() == around.has_value());
        if (around) {
            REQUIRE(our_around->travel_time == around->travel_time);
            // closing never helps
            REQUIRE(around->travel_time.typical >= route->travel_time.typical);
        }
        compared += to.size() + 2;
    }
    return compared;
}

}  // namespace

TEST_CASE("On made-up roads both engines give the same times, nearest places and ways") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 8; ++seed) {
        const auto made = make_network({.nodes = 150 * seed,
                                        .seed = seed,
                                        .one_way_share = 0.2,
                                        .islands = seed,
                                        .parallel_share = 0.05,
                                        .loop_share = 0.03});
        compared += compare(random_roads(made, seed, 0).metric(), seed, 60, 40);
    }
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 20'000);
}

TEST_CASE("Asked for more places than it remembers, and for the same again, it answers the same") {
    // climbs to some hundred places are kept (routing/internal/kept_climbs.hpp): thousands are more
    const auto metric = random_roads(make_network({.nodes = 2000, .seed = 5}), 5, 0).metric();
    HierarchyRouter router{prepared(metric)};
    ReferenceRouter oracle{metric};
    RandomPlaces places{*metric, 5};
    const std::vector<Snap> to = places.several(4000);
    const std::vector<Snap> few(to.begin(), to.begin() + 20);
    for (int departure = 0; departure < 3; ++departure) {
        CAPTURE(departure);
        const Departure from{places.one(), Instant{}};
        REQUIRE(router.travel_times(from, few, no_limit) ==
                oracle.travel_times(from, few, no_limit));
        REQUIRE(router.travel_times(from, to, no_limit) == oracle.travel_times(from, to, no_limit));
        REQUIRE(router.travel_times(from, few, no_limit) ==
                oracle.travel_times(from, few, no_limit));
    }
}

TEST_CASE("With ferries that leave by the clock both engines still give the same") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 8; ++seed) {
        const auto made = make_network({.nodes = 60 * seed, .seed = 100 + seed, .islands = 2});
        compared += compare(random_roads(made, seed, 0.1).metric(), seed, 40, 15);
    }
    CHECK(compared > 5'000);
}

TEST_CASE("On the sample district both engines give the same, dry and wet, by day and by night") {
    const std::string path = std::string(WAYBOURNE_SOURCE_DIR) + "/maps-sample/roads.osm";
    const ImportedMap map = import_osm(path, speed_table());
    const auto network = std::make_shared<const RoadNetwork>(map.network);
    for (const Surface surface : {Surface::dry, Surface::wet}) {
        for (const Light light : {Light::day, Light::night}) {
            const auto metric = std::make_shared<const Metric>(
                network, speed_rules(speed_table(), Means::car, {surface, light}));
            CHECK(compare(metric, 7, 40, 40) > 0);
        }
    }
}

TEST_CASE("With roads that are open only by day both engines still give the same") {
    const std::string path = std::string(WAYBOURNE_SOURCE_DIR) + "/maps-sample/roads.osm";
    const ImportedMap map = import_osm(path, speed_table());
    const auto network = std::make_shared<const RoadNetwork>(map.network);
    const char* const hours[] = {"Mo-Su 06:00-18:00", "Mo-Fr 07:30-12:00,13:00-16:30",
                                 "Mo-Su 22:00-05:00", "Sa 08:00-20:00"};
    std::vector<RoadChange> changes;
    for (std::uint32_t piece = 0; piece < network->piece_count(); piece += 9) {
        RoadChange change;
        change.where = network->piece(PieceId{piece}).road;
        change.hours = parse_timetable(hours[piece % 4], "Etc/UTC").timetable;
        if (piece % 2 == 0) {
            change.slower_by = 1.5;
        }
        changes.push_back(change);
    }
    const auto metric =
        std::make_shared<const Metric>(network, speed_rules(speed_table(), Means::car, {}), changes,
                                       std::span<const TemporaryLink>{}, Instant{});
    const std::size_t compared = compare(metric, 3, 40, 25);
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 1'000);
}

TEST_CASE("On real maps both engines give the same") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    std::size_t compared = 0;
    each_real_map([&](const std::string& name) {
        const auto network = real_roads(*data, name);
        for (const Means means : {Means::car, Means::on_foot}) {
            const auto metric = std::make_shared<const Metric>(
                network, speed_rules(speed_table(), means, {Surface::wet, Light::night}));
            compared += compare(metric, 11, 40, 100);
        }
    });
    MESSAGE("comparisons: " << compared);
    CHECK(compared > 30'000);
}

TEST_CASE("Places beside each other on one road are found though no crossing lies between") {
    const auto district = ascii_district("A---------B");
    const auto ready = prepared(district.metric());
    const Snap start = district.snap('A');
    std::vector<Snap> places(2, start);
    places[0].accesses[0].along_cm += 400'000;
    places[1].accesses[0].along_cm += 200'000;
    HierarchyRouter router{ready};
    const PlaceIndex index{ready, places};
    Snap from = start;
    from.accesses[0].along_cm += 300'000;
    const auto nearest = router.nearest({from, {}}, index, 2, no_limit, everybody);
    REQUIRE(nearest.size() == 2);
    CHECK(nearest[0].target == 0);
    CHECK(nearest[0].travel_time.typical == 1min);
}

TEST_CASE("After a closure the prepared metric is what preparing it anew gives, bit for bit") {
    const auto district = ascii_district(R"(
        A---B---C---D
        |   |   |   |
        E---F---G---H
    )");
    const auto before = prepared(district.metric());
    for (const char* road : {"AB", "BC", "CG", "GH", "AE"}) {
        CAPTURE(road);
        const auto metric = district.close(road).metric();
        // the drawing gives every district its own network of the same shape
        const PreparedMetric again{*before, metric};
        const PreparedMetric anew{metric, std::make_shared<const Hierarchy>(before->hierarchy())};
        CHECK(std::equal(again.weights().begin(), again.weights().end(), anew.weights().begin(),
                         anew.weights().end()));
    }
}

TEST_CASE("A hierarchy or a place of another network is refused") {
    const auto one = ascii_district("A---B");
    const auto other = ascii_district("A---B---C");
    const auto ready = prepared(one.metric());
    CHECK_THROWS_AS(
        PreparedMetric(other.metric(), std::make_shared<const Hierarchy>(ready->hierarchy())),
        InputError);
    HierarchyRouter router{ready};
    CHECK_THROWS_AS(router.route({one.snap('A'), {}}, other.snap('C')), InputError);
    const PlaceIndex index{prepared(one.metric()), {one.snap('B')}};
    CHECK_THROWS_AS(router.nearest({one.snap('A'), {}}, index, 1, no_limit, everybody), InputError);
}

TEST_CASE("Who is ready when she arrives is decided by when she arrives") {
    // One column is one minute. B's surgeon goes home five minutes after she sets out, C's comes in
    // after fifteen, D's is there all night.
    const auto district = ascii_district("A-----B--C---------D");
    const std::vector<Snap> places{district.snap('B'), district.snap('C'), district.snap('D')};
    const auto ready = prepared(district.metric());
    const PlaceIndex index{ready, places};
    ReferenceRouter reference{district.metric()};
    HierarchyRouter hierarchy{ready};
    const ReadyAfter surgeon = [](std::size_t place,
                                  const TravelTime& time) -> std::optional<Seconds> {
        if (place == 0) {
            return time.allow <= 5min ? std::optional(time.typical) : std::nullopt;
        }
        return place == 1 ? std::max<Seconds>(time.typical, 15min) : time.typical;
    };
    const auto soonest = [&](char from, std::size_t count) {
        const Departure departure{district.snap(from), {}};
        auto found = reference.nearest(departure, places, count, no_limit, surgeon);
        CHECK(hierarchy.nearest(departure, places, count, no_limit, surgeon) == found);
        CHECK(hierarchy.nearest(departure, index, count, no_limit, surgeon) == found);
        return found;
    };
    // from A: 6 minutes to B are one too many; C is reached after 9 and ready after 15, D after 19
    CHECK(soonest('A', 1) == std::vector<Nearest>{{1, {9min, 9min}, 15min}});
    CHECK(soonest('A', 3) ==
          std::vector<Nearest>{{1, {9min, 9min}, 15min}, {2, {19min, 19min}, 19min}});
    // from C: B in 3 minutes, in time; C itself still waits, so D after 10 comes before it
    CHECK(soonest('C', 3) == std::vector<Nearest>{{0, {3min, 3min}, 3min},
                                                  {2, {10min, 10min}, 10min},
                                                  {1, {0min, 0min}, 15min}});
}

TEST_CASE("What a place offers may change between two questions and nothing is rebuilt") {
    const auto district = ascii_district("A--B--C--D");
    const auto ready = prepared(district.metric());
    const PlaceIndex index{ready, {district.snap('B'), district.snap('C'), district.snap('D')}};
    HierarchyRouter router{ready};
    constexpr std::uint64_t surgery = 1;
    constexpr std::uint64_t blood = 2;
    std::vector<std::uint64_t> offers{surgery, surgery | blood, surgery | blood};
    const auto nearest_with = [&](std::uint64_t needed) {
        const auto found = router.nearest({district.snap('A'), {}}, index, 1, no_limit, everybody,
                                          {offers, needed});
        return found.empty() ? std::string("nobody") : std::string(1, "BCD"[found[0].target]);
    };
    CHECK(nearest_with(0) == "B");
    CHECK(nearest_with(surgery) == "B");
    CHECK(nearest_with(surgery | blood) == "C");
    offers[1] = surgery;  // the last unit is gone
    CHECK(nearest_with(surgery | blood) == "D");
    CHECK(nearest_with(4) == "nobody");
    CHECK_THROWS_AS(index.without(3), NotFound);
    CHECK_THROWS_AS(index.with(ascii_district("A--B--C--D--E").snap('E')), InputError);
}

TEST_CASE("At a gate that opens at six she waits until six, and the wait is told") {
    // One column or row is one minute.
    const auto district = ascii_district(R"(
        A--B---C--D
           |   |
           |   |
           E---F
    )")
                              .hours("BC", "Mo-Su 06:00-18:00");
    ReferenceRouter reference{district.metric()};
    HierarchyRouter hierarchy{prepared(district.metric())};
    const auto minutes = [&](Instant at) {
        const Departure departure{district.snap('A'), at};
        const auto route = reference.route(departure, district.snap('D'));
        const auto same = hierarchy.route(departure, district.snap('D'));
        REQUIRE(same == route);
        return route->travel_time.typical;
    };
    CHECK(minutes(Instant{12h}) == 10min);
    // at the gate with its closing, and a second before: who is on the road may finish it
    CHECK(minutes(Instant{18h - 3min}) == 16min);
    CHECK(minutes(Instant{18h - 3min - 1s}) == 10min);
    // at 05:58 two minutes of waiting are less than the six more round by E; at 05:53 seven are not
    CHECK(minutes(Instant{6h - 5min}) == 12min);
    CHECK(minutes(Instant{6h - 10min}) == 16min);
    const auto route =
        reference.route({district.snap('A'), Instant{6h - 5min}}, district.snap('D'));
    REQUIRE(route->legs.size() == 2);
    CHECK(route->legs[0].travel_time.typical == 3min);
    CHECK(route->legs[1].wait == 2min);
    CHECK(route->legs[1].travel_time.typical == 9min);
}

TEST_CASE("Who allows more time for the way may find the gate locked, and allows for that") {
    // 60 minutes to the gate, spread 600 s: allowed arrival after more than the typical hour
    const auto district = ascii_district(
                              "A-----------------------------"
                              "------------------------------B-C")
                              .spread(600s)
                              .hours("BC", "Mo-Su 06:00-18:00");
    HierarchyRouter hierarchy{prepared(district.metric())};
    const Snap target = district.snap('C');
    const auto time = [&](Instant at) {
        const Departure departure{district.snap('A'), at};
        const auto found = hierarchy.travel_times(departure, {&target, 1}, no_limit)[0];
        CHECK(
            found ==
            ReferenceRouter(district.metric()).travel_times(departure, {&target, 1}, no_limit)[0]);
        return found.value();
    };
    const TravelTime by_day = time(Instant{10h});
    CHECK(by_day.typical == 62min);
    const TravelTime late = time(Instant{17h - 5min});
    CHECK(late.typical == 62min);
    // the allowed arrival at the gate is after 18:00, so all of the night is allowed for
    CHECK(late.allow > 13h);
    CHECK(by_day.allow < 2h);
}
