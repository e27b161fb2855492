#include <doctest/doctest.h>

#include <algorithm>
#include <iostream>
#include <map>
#include <queue>
#include <random>

#include "routing/hierarchy_router.hpp"
#include "routing/internal/hierarchy_search.hpp"
#include "routing/internal/reference_search.hpp"
#include "routing/network_builder.hpp"
#include "routing/node_order.hpp"
#include "routing/reference_router.hpp"
#include "tests/routing/weighted_network.hpp"

// The oracle knows no copies and no automaton: it keeps the last parts of the way as they are and
// compares them with every restriction, one after the other.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

using Parts = std::vector<PieceDirection>;

constexpr MeansSet cars = MeansSet{}.with(Means::car);

/// Roads with loops, parallel ones, one-ways and roads of no length, as they were added.
struct RandomRoads {
    struct Road {
        std::uint32_t from = 0;
        std::uint32_t to = 0;
        MeansSet forward = MeansSet::all();
        MeansSet backward = MeansSet::all();
        std::uint32_t length_cm = 0;
        /// Forward and backward.
        std::uint32_t ds[2] = {0, 0};
    };
    std::uint32_t nodes = 0;
    std::vector<Road> roads;
    std::vector<ForbiddenWay> forbidden;

    std::uint32_t tail(PieceDirection part) const {
        return part.is_forward ? roads[part.piece].from : roads[part.piece].to;
    }
    std::uint32_t head(PieceDirection part) const {
        return part.is_forward ? roads[part.piece].to : roads[part.piece].from;
    }
    bool is_open(PieceDirection part, Means means) const {
        const Road& road = roads[part.piece];
        return (part.is_forward ? road.forward : road.backward).has(means);
    }
    std::uint32_t ds(PieceDirection part) const {
        return roads[part.piece].ds[part.is_forward ? 0 : 1];
    }
    /// As `Metric::weight` shares a weight out along its road.
    std::uint32_t ds(PieceDirection part, std::uint64_t from_cm, std::uint64_t to_cm) const {
        const std::uint64_t length = roads[part.piece].length_cm;
        const std::uint64_t whole = ds(part);
        return length == 0
                   ? ds(part)
                   : static_cast<std::uint32_t>(whole * to_cm / length - whole * from_cm / length);
    }
    bool obeys(const Parts& way, Means means) const {
        return std::none_of(forbidden.begin(), forbidden.end(), [&](const ForbiddenWay& ban) {
            return ban.means.has(means) && std::search(way.begin(), way.end(), ban.parts.begin(),
                                                       ban.parts.end()) != way.end();
        });
    }
};

RandomRoads random_roads(std::mt19937& random, std::uint32_t nodes, double density,
                         std::size_t bans) {
    const auto below = [&](std::size_t bound) {
        return static_cast<std::uint32_t>(random() % bound);
    };
    RandomRoads made;
    made.nodes = nodes;
    const auto count = static_cast<std::size_t>(nodes * density);
    for (std::size_t i = 0; i < count; ++i) {
        RandomRoads::Road road;
        road.from = below(nodes);
        road.to = below(12) == 0 ? road.from : below(nodes);
        if (i > 0 && below(8) == 0) {
            road.from = made.roads.back().from;
            road.to = made.roads.back().to;
        }
        const std::uint32_t kind = below(10);
        road.forward = kind == 0 ? MeansSet{} : MeansSet::all();
        road.backward = kind == 1 || kind == 2 ? MeansSet{} : MeansSet::all();
        road.length_cm = below(12) == 0 ? 0 : 100 + below(1000);
        for (std::uint32_t& ds : road.ds) {
            ds = road.length_cm == 0 ? 0 : 10 * below(60);
        }
        made.roads.push_back(road);
    }
    for (std::size_t i = 0; i < bans; ++i) {
        const PieceDirection first{below(count), below(2) == 0};
        ForbiddenWay ban{{first}, below(4) == 0 ? cars : MeansSet::all()};
        if (below(5) == 0) {
            ban.means = MeansSet{}.with(Means::motorcycle);
        }
        for (std::uint32_t length = 2 + below(3); ban.parts.size() < length;) {
            Parts onward;
            for (std::uint32_t piece = 0; piece < count; ++piece) {
                for (const bool is_forward : {true, false}) {
                    const PieceDirection part{piece, is_forward};
                    if (made.tail(part) == made.head(ban.parts.back())) {
                        onward.push_back(part);
                    }
                }
            }
            ban.parts.push_back(onward[below(onward.size())]);
        }
        made.forbidden.push_back(ban);
    }
    return made;
}

/// A place on a road, and what the oracle calls it.
struct Spot {
    std::uint32_t road = 0;
    std::uint32_t along_cm = 0;
};

class Oracle {
public:
    Oracle(const RandomRoads& roads, Means means) : roads_(roads), means_(means) {
        for (const ForbiddenWay& ban : roads.forbidden) {
            memory_ = std::max(memory_, ban.parts.size() - 1);
        }
        for (std::uint32_t piece = 0; piece < roads.roads.size(); ++piece) {
            for (const bool is_forward : {true, false}) {
                const PieceDirection part{piece, is_forward};
                if (roads.is_open(part, means)) {
                    leaving_[roads.tail(part)].push_back(part);
                }
            }
        }
    }

    /// From one spot to all, in ds.
    std::vector<std::optional<std::uint32_t>> from(const Spot& start,
                                                   const std::vector<Spot>& targets) {
        best_.clear();
        enter(start);
        std::vector<std::optional<std::uint32_t>> found(targets.size());
        const auto improve = [&](std::size_t target, std::uint32_t ds) {
            found[target] = std::min(found[target].value_or(ds), ds);
        };
        while (!queue_.empty()) {
            const auto [ds, node, memory] = queue_.top();
            queue_.pop();
            if (best_.at({node, memory}) < ds) {
                continue;
            }
            for (const PieceDirection part : leaving_[node]) {
                Parts way = memory;
                way.push_back(part);
                if (roads_.obeys(way, means_)) {
                    keep(ds + roads_.ds(part), roads_.head(part), std::move(way));
                }
            }
        }
        for (const auto& [state, ds] : best_) {
            for (std::size_t target = 0; target < targets.size(); ++target) {
                if (const auto rest = rest_of(state.first, state.second, targets[target])) {
                    improve(target, ds + *rest);
                }
            }
        }
        for (std::size_t target = 0; target < targets.size(); ++target) {
            if (const auto ds = directly(start, targets[target])) {
                improve(target, *ds);
            }
        }
        return found;
    }

private:
    using State = std::pair<std::uint32_t, Parts>;
    using Item = std::tuple<std::uint32_t, std::uint32_t, Parts>;

    void keep(std::uint32_t ds, std::uint32_t node, Parts memory) {
        if (memory.size() > memory_) {
            memory.erase(memory.begin(), memory.end() - static_cast<std::ptrdiff_t>(memory_));
        }
        const auto [known, is_new] = best_.emplace(State{node, memory}, ds);
        if (is_new || ds < known->second) {
            known->second = ds;
            queue_.emplace(ds, node, std::move(memory));
        }
    }

    void enter(const Spot& start) {
        const RandomRoads::Road& road = roads_.roads[start.road];
        const std::uint32_t back_cm = road.length_cm - start.along_cm;
        const PieceDirection forward{start.road, true};
        const PieceDirection backward{start.road, false};
        if (start.along_cm == 0) {
            keep(0, road.from, {});
        } else if (roads_.is_open(backward, means_)) {
            keep(roads_.ds(backward, back_cm, road.length_cm), road.from, {backward});
        }
        if (back_cm == 0) {
            keep(0, road.to, {});
        } else if (roads_.is_open(forward, means_)) {
            keep(roads_.ds(forward, start.along_cm, road.length_cm), road.to, {forward});
        }
    }

    /// From a node, having come there like this, along the target's road to it.
    std::optional<std::uint32_t> rest_of(std::uint32_t node, const Parts& memory,
                                         const Spot& target) const {
        const RandomRoads::Road& road = roads_.roads[target.road];
        std::optional<std::uint32_t> rest;
        for (const bool is_forward : {true, false}) {
            const PieceDirection part{target.road, is_forward};
            const std::uint32_t cm =
                is_forward ? target.along_cm : road.length_cm - target.along_cm;
            if (roads_.tail(part) != node) {
                continue;
            }
            Parts way = memory;
            way.push_back(part);
            if (cm == 0) {
                rest = 0;
            } else if (roads_.is_open(part, means_) && roads_.obeys(way, means_)) {
                const std::uint32_t ds = roads_.ds(part, 0, cm);
                rest = std::min(rest.value_or(ds), ds);
            }
        }
        return rest;
    }

    std::optional<std::uint32_t> directly(const Spot& from, const Spot& to) const {
        if (from.road != to.road) {
            return std::nullopt;
        }
        if (from.along_cm == to.along_cm) {
            return 0;
        }
        const std::uint32_t length = roads_.roads[to.road].length_cm;
        const PieceDirection part{to.road, to.along_cm > from.along_cm};
        if (!roads_.is_open(part, means_)) {
            return std::nullopt;
        }
        return part.is_forward ? roads_.ds(part, from.along_cm, to.along_cm)
                               : roads_.ds(part, length - from.along_cm, length - to.along_cm);
    }

    const RandomRoads& roads_;
    Means means_;
    std::size_t memory_ = 0;
    std::map<std::uint32_t, Parts> leaving_;
    std::map<State, std::uint32_t> best_;
    std::priority_queue<Item, std::vector<Item>, std::greater<>> queue_;
};

std::shared_ptr<const RoadNetwork> network_of(const RandomRoads& roads, bool with_bans = true) {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    for (std::uint32_t node = 0; node < roads.nodes; ++node) {
        builder.add_node({Latitude{0}, Longitude{node * 1e-3}});
    }
    for (const RandomRoads::Road& road : roads.roads) {
        NewPiece piece;
        piece.from = {road.from};
        piece.to = {road.to};
        piece.length = Metres{road.length_cm / 100.0};
        piece.forward = road.forward;
        piece.backward = road.backward;
        builder.add_piece(piece);
    }
    for (const ForbiddenWay& ban : roads.forbidden) {
        if (with_bans) {
            builder.forbid(ban);
        }
    }
    return std::make_shared<const RoadNetwork>(builder.build());
}

/// Roads keep their numbers, since node order is kept and copies come last.
PieceDirection direction_of(const RoadNetwork& network, ArcId arc) {
    return {network.original(network.piece_of(arc)).value, network.is_forward(arc)};
}

std::shared_ptr<const Metric> metric_of(const RandomRoads& roads,
                                        const std::shared_ptr<const RoadNetwork>& network,
                                        Means means) {
    std::vector<std::uint32_t> ds(network->arc_count(), closed_ds);
    for (std::uint32_t arc = 0; arc < network->arc_count(); ++arc) {
        if (network->means(ArcId{arc}).has(means)) {
            ds[arc] = roads.ds(direction_of(*network, ArcId{arc}));
        }
    }
    return std::make_shared<const Metric>(network, ds,
                                          std::vector<std::uint32_t>(network->arc_count()));
}

std::shared_ptr<const PreparedMetric> prepared(const std::shared_ptr<const Metric>& metric) {
    const GraphView graph = view_of(metric->network());
    return std::make_shared<const PreparedMetric>(
        metric, std::make_shared<const Hierarchy>(
                    Hierarchy::build(graph, nested_dissection_order(graph, {}))));
}

std::vector<Spot> random_spots(std::mt19937& random, const RandomRoads& roads, std::size_t count) {
    std::vector<Spot> spots;
    for (std::size_t i = 0; i < count; ++i) {
        const auto road = static_cast<std::uint32_t>(random() % roads.roads.size());
        const std::uint32_t length = roads.roads[road].length_cm;
        const auto kind = random() % 3;
        spots.push_back({road, kind == 0   ? 0
                               : kind == 1 ? length
                                           : static_cast<std::uint32_t>(random() % (length + 1))});
    }
    return spots;
}

std::vector<Snap> snaps_of(const RoadNetwork& network, const std::vector<Spot>& spots) {
    std::vector<Snap> snaps;
    for (const Spot& spot : spots) {
        const GeoPoint point = to_geo_point(network.point(network.piece(PieceId{spot.road}).from));
        snaps.push_back({point, {{PieceId{spot.road}, spot.along_cm, point, Metres{0}}}});
    }
    return snaps;
}

std::optional<Seconds> in_seconds(std::optional<std::uint32_t> ds) {
    return ds ? std::optional(to_travel_time(*ds, *ds).typical) : std::nullopt;
}

std::optional<Seconds> typical(const std::optional<TravelTime>& time) {
    return time ? std::optional(time->typical) : std::nullopt;
}

/// The parts follow each other, are open, obey every restriction and sum to the time.
void check_way(const RandomRoads& roads, const Metric& metric, const Way& way, std::uint32_t ds) {
    Parts parts;
    std::uint32_t sum = 0;
    for (const ArcPart& part : way.parts) {
        parts.push_back(direction_of(metric.network(), part.arc));
        REQUIRE(roads.is_open(parts.back(), Means::car));
        sum += metric.weight(part.arc, part.from_cm, part.to_cm).typical_ds;
        if (parts.size() > 1) {
            REQUIRE(roads.head(parts[parts.size() - 2]) == roads.tail(parts.back()));
        }
    }
    REQUIRE(roads.obeys(parts, Means::car));
    REQUIRE(sum == ds);
}

}  // namespace

TEST_CASE("With random restrictions both engines find what a slow and obvious search finds") {
    std::size_t compared = 0;
    std::size_t reached = 0;
    std::size_t slower = 0;
    for (unsigned seed = 1; seed <= 20; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        const std::uint32_t nodes = 5 + static_cast<std::uint32_t>(random() % 25);
        const RandomRoads roads = random_roads(random, nodes, 1.6, 2 + random() % (2 * nodes));
        const auto network = network_of(roads);
        const auto free = network_of(roads, false);
        for (const Means means : {Means::car, Means::motorcycle}) {
            const auto metric = metric_of(roads, network, means);
            const auto spots = random_spots(random, roads, 30);
            const auto targets = snaps_of(*network, spots);
            const auto ready = prepared(metric);
            Oracle oracle{roads, means};
            ReferenceRouter reference{metric};
            HierarchyRouter hierarchy{ready};
            ReferenceRouter unbound{metric_of(roads, free, means)};
            for (std::size_t start = 0; start < 6; ++start) {
                CAPTURE(start);
                const Departure departure{targets[start], {}};
                const auto expected = oracle.from(spots[start], spots);
                const auto first = reference.travel_times(departure, targets, 1000h);
                const auto second = hierarchy.travel_times(departure, targets, 1000h);
                const auto without = unbound.travel_times(departure, targets, 1000h);
                for (std::size_t target = 0; target < targets.size(); ++target) {
                    CAPTURE(target);
                    REQUIRE(typical(first[target]) == in_seconds(expected[target]));
                    REQUIRE(typical(second[target]) == in_seconds(expected[target]));
                    compared += 2;
                    reached += expected[target] ? 1U : 0U;
                    slower += typical(without[target]) != typical(first[target]) ? 1U : 0U;
                }
            }
        }
    }
    std::cout << "turn restrictions: " << compared << " times equal the oracle's, " << reached
              << " places reached, " << slower << " of them slower or lost by a restriction\n";
    CHECK(reached > compared / 4);
    CHECK(slower > compared / 100);
}

TEST_CASE("Every way that is told obeys every restriction") {
    std::size_t ways = 0;
    for (unsigned seed = 1; seed <= 40; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        const RandomRoads roads = random_roads(random, 25, 1.7, 40);
        const auto network = network_of(roads);
        const auto metric = metric_of(roads, network, Means::car);
        const auto spots = random_spots(random, roads, 25);
        const auto targets = snaps_of(*network, spots);
        const auto ready = prepared(metric);
        ReferenceSearch search(metric, make_reference_graph(*network));
        HierarchySearch climb{*ready};
        for (std::size_t start = 0; start < 5; ++start) {
            const Departure departure{targets[start], {}};
            search.run(
                departure, targets, closed_ds - 1, [](std::size_t, const Label&) {},
                [](std::uint32_t) { return false; });
            climb.start(departure);
            for (std::size_t target = 0; target < targets.size(); ++target) {
                if (search.label(target).is_reached()) {
                    const std::uint32_t ds = search.label(target).typical_ds;
                    check_way(roads, *metric, search.way(departure, targets, target), ds);
                    check_way(roads, *metric, climb.find(targets[target], true).way, ds);
                    ways += 2;
                }
            }
        }
    }
    std::cout << "turn restrictions: " << ways << " ways obey them\n";
    CHECK(ways > 2000);
}

TEST_CASE("Restrictions that bind nobody on the way change no time") {
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= 30; ++seed) {
        CAPTURE(seed);
        std::mt19937 random(seed);
        RandomRoads roads = random_roads(random, 30, 1.7, 40);
        for (ForbiddenWay& ban : roads.forbidden) {
            ban.means = MeansSet{}.with(Means::boat);
        }
        const auto network = network_of(roads);
        REQUIRE_FALSE(network->arrays().node_copies.empty());
        const auto spots = random_spots(random, roads, 40);
        const auto targets = snaps_of(*network, spots);
        ReferenceRouter split{metric_of(roads, network, Means::car)};
        HierarchyRouter climb{prepared(metric_of(roads, network, Means::car))};
        ReferenceRouter whole{metric_of(roads, network_of(roads, false), Means::car)};
        for (std::size_t start = 0; start < 10; ++start) {
            const Departure departure{targets[start], {}};
            const auto expected = whole.travel_times(departure, targets, 1000h);
            REQUIRE(split.travel_times(departure, targets, 1000h) == expected);
            REQUIRE(climb.travel_times(departure, targets, 1000h) == expected);
            compared += 2 * targets.size();
        }
    }
    std::cout << "turn restrictions: " << compared << " times as in the whole network\n";
}

TEST_CASE("Where nothing is forbidden the network is the same, bit for bit") {
    std::mt19937 random(7);
    RandomRoads roads = random_roads(random, 40, 1.7, 20);
    for (ForbiddenWay& ban : roads.forbidden) {
        ban.means = MeansSet{};
    }
    const auto network = network_of(roads);
    const auto whole = network_of(roads, false);
    CHECK(std::ranges::equal(network->pieces(), whole->pieces()));
    CHECK(std::ranges::equal(network->arrays().arc_heads, whole->arrays().arc_heads));
    CHECK(std::ranges::equal(network->arrays().first_out, whole->arrays().first_out));
    CHECK(network->arrays().node_copies.empty());
}
