#include "routing/reference_router.hpp"

#include <doctest/doctest.h>

#include <array>
#include <string>

#include "tests/routing/weighted_network.hpp"
#include "tests/support/ascii_district.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

const ReadyAfter everybody = ready_if([](std::size_t) { return true; });
constexpr Seconds any_time = Seconds::max();

std::vector<std::optional<Seconds>> whole(std::initializer_list<int> seconds) {
    std::vector<std::optional<Seconds>> expected;
    for (const int value : seconds) {
        expected.emplace_back(Seconds{value});
    }
    return expected;
}

/// The textbook's weights as whole seconds.
std::shared_ptr<const Metric> in_seconds(std::uint32_t nodes, std::vector<WeightedArc> arcs) {
    for (WeightedArc& arc : arcs) {
        arc.typical_ds *= 10;
    }
    return weighted_network(nodes, arcs);
}

}  // namespace

TEST_CASE("The distances of Dijkstra's figure in Introduction to Algorithms come out as printed") {
    // Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, figure "The execution of
    // Dijkstra's algorithm": s, t, x, y, z = 0 … 4; printed distances 0, 8, 9, 5, 7.
    const auto metric = in_seconds(5, {{0, 1, 10},
                                       {0, 3, 5},
                                       {1, 2, 1},
                                       {1, 3, 2},
                                       {3, 1, 3},
                                       {3, 2, 9},
                                       {3, 4, 2},
                                       {2, 4, 4},
                                       {4, 2, 6},
                                       {4, 0, 7}});
    CHECK(typical_from(metric, 0) == whole({0, 8, 9, 5, 7}));
}

TEST_CASE("The distances of the Boost Graph Library's Dijkstra example come out as printed") {
    // Boost 1.74, libs/graph/example/dijkstra-example.cpp, A … E = 0 … 4: printed 0, 6, 1, 4, 5.
    const auto metric = in_seconds(5, {{0, 2, 1},
                                       {1, 1, 2},
                                       {1, 3, 1},
                                       {1, 4, 2},
                                       {2, 1, 7},
                                       {2, 3, 3},
                                       {3, 4, 1},
                                       {4, 0, 1},
                                       {4, 1, 1}});
    CHECK(typical_from(metric, 0) == whole({0, 6, 1, 4, 5}));
}

TEST_CASE("The distances of the six-node example that many textbooks draw come out right") {
    // Undirected, nodes 1 … 6 here 0 … 5; distances from 1 checked with networkx: 0 7 9 20 20 11.
    const auto metric = in_seconds(6, both_ways({{0, 1, 7},
                                                 {0, 2, 9},
                                                 {0, 5, 14},
                                                 {1, 2, 10},
                                                 {1, 3, 15},
                                                 {2, 3, 11},
                                                 {2, 5, 2},
                                                 {3, 4, 6},
                                                 {4, 5, 9}}));
    CHECK(typical_from(metric, 0) == whole({0, 7, 9, 20, 20, 11}));
}

TEST_CASE("When the bridge is closed she goes by ferry, and the wait for it counts") {
    // One column or row is 1 km at 60 km/h: one minute. The ferry F~G leaves on the half hour.
    const auto district = ascii_district(R"(
        C---B--------H
        |            |
        F~~~~~~~~~~~~G
    )")
                              .ferry("FG", {.crosses = 10min, .leaves_every = 30min});
    const Instant six{6h};
    SUBCASE("bridge open: 4 + 9 minutes by road") {
        CHECK(district.typical('C', 'H', six) == 13min);
    }
    SUBCASE("bridge closed: 2 to the bank, 28 waiting, 10 crossing, 2 to the door") {
        CHECK(district.close("BH").typical('C', 'H', six) == 42min);
    }
    SUBCASE("bridge closed, leaving at 06:29: the 06:30 is missed by a minute, so 29 waiting") {
        CHECK(district.close("BH").typical('C', 'H', six + 29min) == 43min);
    }
    SUBCASE("bridge closed, leaving at 06:28: the 06:30 is caught as it leaves") {
        CHECK(district.close("BH").typical('C', 'H', six + 28min) == 14min);
    }
    SUBCASE("one second later it has left") {
        CHECK(district.close("BH").typical('C', 'H', six + 28min + 1s) == 43min + 59s);
    }
    SUBCASE("bridge closed and no ferry: no way, which is not the same as a long way") {
        CHECK(district.close("BH").close("FG").typical('C', 'H', six) == std::nullopt);
    }
}

TEST_CASE("A later start never arrives earlier, whatever the ferry's timetable") {
    const auto district =
        ascii_district("C--F~~~G--H")
            .sailings("FG", 10min, {{6h, 6h}, {7h + 10min, 7h + 10min}, {9h, 10h}});
    // Monday, 5 January 1970; 100 hours on is a Friday without any sailing, so the next Monday's.
    const Instant monday{std::chrono::days(4)};
    Instant last{};
    for (Seconds after = 5h; after < 12h; after += 7min) {
        const auto takes = district.typical('C', 'H', monday + after);
        REQUIRE(takes);
        CHECK(monday + after + *takes >= last);
        last = monday + after + *takes;
    }
    // Within 09:00 to 10:00 it leaves whenever somebody comes: 3 + 10 + 3 minutes.
    CHECK(district.typical('C', 'H', monday + 9h + 15min) == 16min);
    // Monday 10:00 missed: next Monday 06:00.
    CHECK(district.typical('C', 'H', monday + 10h) == 7 * 24h - 4h + 13min);
}

TEST_CASE("A ferry that never sails is no way") {
    CHECK(ascii_district("C--F~~~G--H").sailings("FG", 10min, {}).typical('C', 'H') ==
          std::nullopt);
}

TEST_CASE("Who allows more time for the way to the ferry may have to allow for the next sailing") {
    // 10 minutes to the bank, variance 60 s per second: V = 600 × 60 = 36000 s²,
    // sigma² = ln(1 + 36000/600²) = 0.09531, allow = 600·e^(1.2816·0.30872) = 891.2 s. The crossing
    // of 10 minutes has the same spread and the same allow.
    const auto district = ascii_district("C---------F~~~G")
                              .ferry("FG", {.crosses = 10min, .leaves_every = 30min})
                              .spread(60s);
    const auto with_road_after = ascii_district("C---------F~~~G-H")
                                     .ferry("FG", {.crosses = 10min, .leaves_every = 30min})
                                     .spread(60s);
    SUBCASE("leaving at 06:10, both the typical and the allowed arrival catch the 06:30") {
        // Then the bank is behind her, and with it its spread: 20 minutes to the sailing, and
        // crossing plus 2 km, M = 720 s, V = 43200 s²: sigma² = ln(1 + 43200/518400) = 0.080043,
        // allow = 720·e^(1.2816·0.282918) = 1034.7 s.
        CHECK(with_road_after.typical('C', 'H', Instant{6h + 10min}) == 32min);
        CHECK(with_road_after.allow('C', 'H', Instant{6h + 10min}) == 20min + 1035s);
    }
    SUBCASE("leaving at 06:18, she typically catches the 06:30 but should allow for the 07:00") {
        CHECK(with_road_after.typical('C', 'H', Instant{6h + 18min}) == 24min);
        CHECK(with_road_after.allow('C', 'H', Instant{6h + 18min}) == 42min + 1035s);
    }
}

TEST_CASE("Far is not the same as unreachable") {
    const auto district = ascii_district(R"(
        A--------------------B

        C--D
    )");
    CHECK(district.typical('A', 'B') == 21min);
    CHECK(district.typical('A', 'C') == std::nullopt);
    CHECK(district.slow("AB", 1000).typical('A', 'B') == 21000min);
    CHECK(district.close("AB").typical('A', 'B') == std::nullopt);
}

TEST_CASE("One-ways hold, and the way back goes round") {
    const auto district = ascii_district(R"(
        A-->--B
        |     |
        C-----D
    )");
    CHECK(district.typical('A', 'B') == 6min);
    CHECK(district.typical('B', 'A') == 10min);
}

TEST_CASE("A ford closes in the wet and the bridge upstream is the way") {
    const auto district = ascii_district(R"(
        A--B
        |  |
        |  |
        |  |
        C--D
    )")
                              .ford("AB");
    CHECK(district.typical('A', 'B') == 3min);
    CHECK(district.wet().typical('A', 'B') == 11min);
}

TEST_CASE("A slow-down counts until another way is quicker") {
    const auto district = ascii_district(R"(
        A--B
        |  |
        C--D
    )");
    CHECK(district.slow("AB", 2).typical('A', 'B') == 6min);
    CHECK(district.slow("AB", 3).typical('A', 'B') == 7min);
}

TEST_CASE("A closure counts from its first second and not from its last") {
    const auto district =
        ascii_district("A--B").close("AB", {.from = Instant{10h}, .until = Instant{12h}});
    CHECK(district.as_of(Instant{10h - 1s}).typical('A', 'B') == 3min);
    CHECK(district.as_of(Instant{10h}).typical('A', 'B') == std::nullopt);
    CHECK(district.as_of(Instant{12h - 1s}).typical('A', 'B') == std::nullopt);
    CHECK(district.as_of(Instant{12h}).typical('A', 'B') == 3min);
}

TEST_CASE("She is already there") {
    const auto district = ascii_district("A--B");
    CHECK(district.typical('A', 'A') == 0min);
    CHECK(district.allow('A', 'A') == 0min);
}

TEST_CASE("Of equally quick ways the surer one is meant, so that the allowed time is one figure") {
    // Two ways from 0 to 3 of 20 s: by 1 with a variance of 300 ds², by 2 of 200.
    const auto metric = weighted_network(
        4, {{0, 1, 100, 150}, {1, 3, 100, 150}, {0, 2, 50, 100}, {2, 3, 150, 100}});
    const auto snaps = node_snaps(metric->network());
    const auto times =
        ReferenceRouter(metric).travel_times({snaps[0], {}}, std::span(&snaps[3], 1), any_time);
    REQUIRE(times[0]);
    CHECK(*times[0] == to_travel_time(200, allow_ds({200, 200})));
}

TEST_CASE("Parallel roads, loops and roads of no length are roads like any other") {
    // 0→1 twice, the quicker counts; a loop at 1; 1→2 takes no time.
    const auto metric =
        weighted_network(3, {{0, 1, 90}, {0, 1, 50}, {1, 1, 10}, {1, 2, 0}, {2, 2, 0}});
    CHECK(typical_from(metric, 0) == whole({0, 5, 5}));
    CHECK(typical_from(metric, 2) ==
          std::vector<std::optional<Seconds>>{std::nullopt, std::nullopt, 0s});
}

TEST_CASE("On a grid of streets the way is as long as the steps east and north together") {
    // A 7 × 5 grid with 10 s a block: Manhattan distance.
    constexpr std::uint32_t width = 7;
    constexpr std::uint32_t height = 5;
    std::vector<WeightedArc> arcs;
    for (std::uint32_t y = 0; y < height; ++y) {
        for (std::uint32_t x = 0; x < width; ++x) {
            const std::uint32_t here = y * width + x;
            if (x + 1 < width) {
                arcs.push_back({here, here + 1, 100});
            }
            if (y + 1 < height) {
                arcs.push_back({here, here + width, 100});
            }
        }
    }
    const auto times = typical_from(weighted_network(width * height, both_ways(arcs)), 0);
    for (std::uint32_t node = 0; node < width * height; ++node) {
        CHECK(times[node] == Seconds{10 * (node % width + node / width)});
    }
}

TEST_CASE(
    "Along a path, round a ring, out of a star and down a tree the times are the plain sums") {
    constexpr std::uint32_t nodes = 31;
    std::vector<WeightedArc> path;
    std::vector<WeightedArc> star;
    std::vector<WeightedArc> tree;
    for (std::uint32_t node = 1; node < nodes; ++node) {
        path.push_back({node - 1, node, 10});
        star.push_back({0, node, 10 * node});
        tree.push_back({(node - 1) / 2, node, 10});
    }
    auto ring = path;
    ring.push_back({nodes - 1, 0, 10});
    const auto along = typical_from(weighted_network(nodes, both_ways(path)), 0);
    const auto around = typical_from(weighted_network(nodes, both_ways(ring)), 0);
    const auto out = typical_from(weighted_network(nodes, both_ways(star)), 0);
    const auto down = typical_from(weighted_network(nodes, both_ways(tree)), 0);
    for (std::uint32_t node = 0; node < nodes; ++node) {
        CAPTURE(node);
        CHECK(along[node] == Seconds{node});
        CHECK(around[node] == Seconds{std::min(node, nodes - node)});
        CHECK(out[node] == Seconds{node});
        // Depth in a binary tree whose root is node 0.
        CHECK(down[node] == Seconds{static_cast<int>(std::bit_width(node + 1)) - 1});
    }
}

TEST_CASE("The limit is reached, a second less and it is not") {
    const auto district = ascii_district("A--B");
    const std::vector<Snap> targets{district.snap('B')};
    ReferenceRouter router(district.metric());
    const Departure departure{district.snap('A'), {}};
    CHECK(router.travel_times(departure, targets, 3min)[0]);
    CHECK_FALSE(router.travel_times(departure, targets, 3min - 1s)[0]);
    CHECK(router.nearest(departure, targets, 1, 3min, everybody).size() == 1);
    CHECK(router.nearest(departure, targets, 1, 3min - 1s, everybody).empty());
}

TEST_CASE("The nearest places come in order, equally near ones as listed, and only accepted ones") {
    const auto district = ascii_district(R"(
        D
        |
        |
        A--B---------F
        |
        |
        C
    )");
    const std::string letters = "FBDCA";
    std::vector<Snap> targets;
    for (const char letter : letters) {
        targets.push_back(district.snap(letter));
    }
    ReferenceRouter router(district.metric());
    const Departure departure{district.snap('A'), {}};
    const auto names = [&](std::size_t count, std::string_view refused) {
        std::string found;
        for (const Nearest& nearest :
             router.nearest(departure, targets, count, any_time, ready_if([&](std::size_t target) {
                                return refused.find(letters[target]) == std::string_view::npos;
                            }))) {
            found += letters[nearest.target];
        }
        return found;
    };
    CHECK(names(5, "") == "ABDCF");
    CHECK(names(2, "") == "AB");
    CHECK(names(2, "AB") == "DC");
    CHECK(names(9, "A") == "BDCF");
    CHECK(names(0, "").empty());
    CHECK(names(3, "FBDCA").empty());
    CHECK(router.nearest(departure, {}, 3, any_time, everybody).empty());
}

TEST_CASE("Nobody is asked about a place farther than the ones that are taken") {
    const auto district = ascii_district("A--B---C----D");
    const std::vector<Snap> targets{district.snap('D'), district.snap('C'), district.snap('B')};
    std::vector<std::size_t> asked;
    const auto accept = [&](std::size_t target) {
        asked.push_back(target);
        return target != 2;
    };
    ReferenceRouter router(district.metric());
    const auto found =
        router.nearest({district.snap('A'), {}}, targets, 1, any_time, ready_if(accept));
    CHECK(found == std::vector<Nearest>{{1, {7min, 7min}, 7min}});
    CHECK(asked == std::vector<std::size_t>{2, 1});
}

TEST_CASE("On one and the same road she drives straight there, or round the block on a one-way") {
    const auto district = ascii_district(R"(
        A---->----B
        |         |
        C---------D
    )");
    const auto at_km = [&](double east) {
        Snap snap = district.snap('A');
        snap.point = district.beside('A', east, 0);
        snap.accesses[0].along_cm = static_cast<std::uint32_t>(east * 100'000);
        return snap;
    };
    ReferenceRouter router(district.metric());
    const auto typical = [&](double from, double to) {
        const Snap target = at_km(to);
        return router.travel_times({at_km(from), {}}, std::span(&target, 1), any_time)[0]
            .value()
            .typical;
    };
    CHECK(typical(2, 7) == 5min);
    CHECK(typical(7, 7) == 0min);
    // 3 to B, 2 down, 10 along, 2 up, 2 on.
    CHECK(typical(7, 2) == 19min);
    // At a road's end she stands at the crossing, whatever the one-way says.
    CHECK(typical(10, 0) == 14min);
}

TEST_CASE("A place snapped to another network is refused, not guessed at") {
    const auto small = ascii_district("A--B");
    Snap foreign = small.snap('A');
    foreign.accesses[0].piece = {7};
    ReferenceRouter router(small.metric());
    CHECK_THROWS_AS((void)router.travel_times({foreign, {}}, {}, any_time), InputError);
    CHECK_THROWS_AS((void)router.route({small.snap('A'), {}}, foreign), InputError);
}

TEST_CASE("A router forgets one question before the next") {
    const auto district = ascii_district("A--B---C").close("BC");
    ReferenceRouter router(district.metric());
    const std::array targets{district.snap('A'), district.snap('B'), district.snap('C')};
    const auto from_a = router.travel_times({targets[0], {}}, targets, any_time);
    const auto from_c = router.travel_times({targets[2], {}}, targets, any_time);
    CHECK(router.travel_times({targets[0], {}}, targets, any_time) == from_a);
    CHECK(from_a[1]->typical == 3min);
    CHECK_FALSE(from_a[2]);
    CHECK_FALSE(from_c[0]);
    CHECK(from_c[2]->typical == 0min);
}
