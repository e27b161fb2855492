#include "maps-sample/generator/roads.hpp"

#include <algorithm>
#include <optional>

#include "maps-sample/generator/main_roads.hpp"

namespace waybourne::sample {

namespace {

constexpr std::uint64_t seed = 20260304;
constexpr std::size_t no_settlement = static_cast<std::size_t>(-1);

struct Joint {
    std::size_t settlement = no_settlement;
    std::size_t node = 0;
    double far_km = no_way_km;
};

/// The nearest node that a straight way can reach without crossing water or another road.
Joint nearest_joint(const RoadMap& map, const std::vector<Settlement>& settlements,
                    std::size_t settlement) {
    const Point place = settlements[settlement].place;
    std::vector<std::pair<double, std::size_t>> by_distance;
    for (std::size_t node = 0; node < map.nodes().size(); ++node) {
        by_distance.emplace_back(distance(place, map.nodes()[node]), node);
    }
    std::sort(by_distance.begin(), by_distance.end());
    for (const auto& [far_km, node] : by_distance) {
        if (map.is_free(place, map.nodes()[node])) {
            return {settlement, node, far_km};
        }
    }
    return {settlement, 0, no_way_km};
}

RoadStyle village_road(Random& random, int population) {
    if (population > 1600) {
        return style::tertiary;
    }
    const std::uint64_t draw = random.below(10);
    if (draw < 4) {
        return style::unclassified;
    }
    if (draw < 6) {
        return style::earth;
    }
    return draw < 9 ? style::track : style::hill_track;
}

/// The village nearest to the roads comes first, then the next, as the roads grow towards it.
void join_villages(RoadMap& map, const std::vector<Settlement>& settlements, Random& random) {
    std::vector<Joint> open;
    for (std::size_t i = named_settlements().size(); i < settlements.size(); ++i) {
        open.push_back(nearest_joint(map, settlements, i));
    }
    while (!open.empty()) {
        const auto nearest =
            std::min_element(open.begin(), open.end(),
                             [](const Joint& a, const Joint& b) { return a.far_km < b.far_km; });
        const Settlement& village = settlements[nearest->settlement];
        // Roads drawn since may have come in between or nearer.
        const Joint joint = nearest_joint(map, settlements, nearest->settlement);
        const bool is_still_nearest = joint.far_km <= nearest->far_km + 1e-9;
        if (!is_still_nearest) {
            *nearest = joint;
            continue;
        }
        open.erase(nearest);
        const std::size_t from = map.node_at(village.place);
        const std::size_t road = map.draw(
            from, joint.node, village_road(random, village.population), village.name + " road");
        if (joint.far_km > 2 && random.below(8) == 0) {
            map.put_ford(road);
        }
    }
}

/// Neighbours that are far apart by road get a short cut: a track, or a path for those on foot.
void add_short_cuts(RoadMap& map, const std::vector<Settlement>& settlements, std::size_t most) {
    constexpr double neighbours_km = 5.5;
    constexpr double detour = 3.5;
    std::size_t added = 0;
    for (std::size_t i = 0; i < settlements.size() && added < most; ++i) {
        const std::size_t from = map.node_at(settlements[i].place);
        std::optional<std::vector<double>> by_road;
        for (std::size_t j = i + 1; j < settlements.size() && added < most; ++j) {
            const double straight = distance(settlements[i].place, settlements[j].place);
            if (straight > neighbours_km) {
                continue;
            }
            if (!by_road) {
                by_road = map.distances(from, true);
            }
            const std::size_t to = map.node_at(settlements[j].place);
            const bool pays = (*by_road)[to] > detour * straight && (*by_road)[to] < no_way_km;
            if (pays && map.is_free(settlements[i].place, settlements[j].place)) {
                map.draw(from, to, added % 3 == 2 ? style::path : style::track, "");
                ++added;
                by_road = map.distances(from, true);
            }
        }
    }
}

/// A few streets round the middle of each town.
void add_streets(RoadMap& map, const std::vector<Settlement>& settlements) {
    for (const Settlement& town : settlements) {
        if (town.kind != "town") {
            continue;
        }
        const std::size_t middle = map.node_at(town.place);
        for (const Point step : {Point{0.5, 0.45}, Point{-0.45, 0.5}, Point{-0.5, -0.45},
                                 Point{0.45, -0.5}, Point{0.1, 0.7}, Point{0.7, -0.1}}) {
            const Point end = town.place + step;
            if (map.is_free(town.place, end)) {
                map.draw(middle, map.node_at(end), style::street, "");
            }
        }
    }
}

}  // namespace

RoadMap build_roads(const std::vector<Settlement>& settlements) {
    RoadMap map{seed};
    draw_main_roads(map);
    add_streets(map, settlements);
    Random random{seed + 1};
    join_villages(map, settlements, random);
    add_short_cuts(map, settlements, 30);
    return map;
}

}  // namespace waybourne::sample
