// What planners wait for, as ratios within one run: critical links against recomputing each, and a
// plan of 50 upgrades among 500 for 20,000 settlements.

#include <algorithm>
#include <random>

#include "coverage/critical_link.hpp"
#include "coverage/location.hpp"
#include "tests/bench/bench_network.hpp"
#include "tests/bench/figure.hpp"

namespace {

using namespace waybourne;
using namespace waybourne::bench;
using namespace waybourne::routing;

/// A place at every node of the roads.
std::vector<Snap> snaps_at_nodes(const RoadNetwork& roads) {
    std::vector<Snap> snaps(roads.node_count());
    for (std::uint32_t number = 0; number < roads.piece_count(); ++number) {
        const Piece& piece = roads.piece(PieceId{number});
        const auto put = [&](NodeId node, std::uint32_t along_cm) {
            const GeoPoint point = to_geo_point(roads.point(node));
            snaps[node.value] = {.point = point,
                                 .accesses = {{.piece = {number},
                                               .along_cm = along_cm,
                                               .on_road = point,
                                               .off_road = Metres{0}}}};
        };
        put(piece.from, 0);
        put(piece.to, piece.length_cm);
    }
    return snaps;
}

void measure_links(const Arguments& arguments) {
    const BenchNetwork made = made_bench_network(static_cast<std::uint32_t>(arguments.size));
    const auto roads = std::make_shared<const RoadNetwork>(road_network_of(made));
    const auto metric = std::make_shared<const Metric>(roads, made.dry_ds, made.variance_ds2());
    const std::vector<Snap> snaps = snaps_at_nodes(*roads);
    std::vector<Snap> places;
    std::vector<bool> capable;
    for (const BenchNetwork::Place& place : made.places) {
        places.push_back(snaps[place.node]);
        capable.push_back(place.is_capable);
    }
    std::mt19937 random{1};
    std::vector<Snap> settlements;
    std::vector<double> births;
    for (std::size_t i = 0; i < snaps.size() / 20; ++i) {
        settlements.push_back(snaps[random() % snaps.size()]);
        births.push_back(static_cast<double>(1 + random() % 100));
    }
    const double once = median_seconds(3, [&] {
        keep(NearestPlaces(metric, places, capable, settlements).of_node(NodeId{0}).has_value());
    });
    const auto base = std::make_shared<const NearestPlaces>(metric, places, capable, settlements);
    coverage::CriticalLinks links(base, births, 60min);
    std::size_t found = 0;
    const double all = seconds([&] { found = links.all().size(); });
    keep(found);
    print({"critical_links",
           "births lost by every road's failure",
           all,
           "s",
           "recomputing each, times as fast",
           ">= 50",
           std::to_string(roads->node_count()) + " nodes, " + std::to_string(roads->piece_count()) +
               " roads",
           {},
           once * static_cast<double>(roads->piece_count()) / all});
}

void measure_plan() {
    constexpr std::size_t settlements = 20'000;
    constexpr std::size_t options = 500;
    std::mt19937 random{2};
    std::uniform_real_distribution<double> anywhere(0, 300);
    std::vector<std::pair<double, double>> sites;
    for (std::size_t j = 0; j < options; ++j) {
        sites.emplace_back(anywhere(random), anywhere(random));
    }
    coverage::LocationModel model;
    model.options.resize(options);
    model.serves.resize(options);
    for (std::uint32_t i = 0; i < settlements; ++i) {
        const double x = anywhere(random);
        const double y = anywhere(random);
        model.births.push_back(static_cast<double>(1 + random() % 100));
        for (std::size_t j = 0; j < options; ++j) {
            const double dx = sites[j].first - x;
            const double dy = sites[j].second - y;
            if (dx * dx + dy * dy <= 15.0 * 15.0) {
                model.serves[j].push_back({i, 1});
            }
        }
    }
    coverage::Plan plan;
    const double time =
        seconds([&] { plan = coverage::exact_plan(model, {.count = 50}, 9s, 0.005); });
    const std::string network = "20000 settlements, 500 options on 300 x 300 km, 15 km";
    print({"upgrade_plan", "plan of 50 upgrades", time, "s", "", "<= 10", network});
    print({"upgrade_gap", "what a better plan could gain at most", plan.gap() * 100, "%", "",
           "<= 1", network});
    const coverage::Plan quick = coverage::quick_plan(model, {.count = 50});
    print({"upgrade_quick", "quick plan of 50 upgrades, share of the bound",
           quick.value / plan.bound * 100, "%", "", "", network});
}

}  // namespace

int main(int count, char** values) {
    const Arguments arguments = parse_arguments(count, values);
    if (arguments.wants("critical_links")) {
        measure_links(arguments);
    }
    if (arguments.wants("upgrade_plan") || arguments.wants("upgrade_gap") ||
        arguments.wants("upgrade_quick")) {
        measure_plan();
    }
    return 0;
}
