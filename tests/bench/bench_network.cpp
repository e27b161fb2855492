#include "tests/bench/bench_network.hpp"

#include <algorithm>
#include <fstream>
#include <iostream>
#include <memory>
#include <numeric>
#include <random>
#include <sstream>

#include "routing/metric.hpp"
#include "routing/network_builder.hpp"
#include "routing/speed_rules.hpp"
#include "tests/support/made_network.hpp"

namespace waybourne::bench {

namespace {

constexpr std::uint32_t place_count = 500;

void scatter_places(BenchNetwork& network) {
    std::mt19937 random{2};
    for (std::uint32_t i = 0; i < place_count; ++i) {
        const auto node = static_cast<std::uint32_t>(random()) % network.node_count();
        network.places.push_back({node, random() % 4 == 0});
    }
}

template <typename Number, typename Out = Number>
std::vector<Out> read_array(std::ifstream& stream, std::size_t count) {
    std::vector<Number> numbers(count);
    stream.read(reinterpret_cast<char*>(numbers.data()),
                static_cast<std::streamsize>(count * sizeof(Number)));
    return {numbers.begin(), numbers.end()};
}

std::vector<BenchNetwork::Place> read_places(const std::filesystem::path& file) {
    std::vector<BenchNetwork::Place> places;
    std::ifstream stream{file};
    std::string line;
    std::getline(stream, line);
    while (std::getline(stream, line)) {
        std::istringstream row{line};
        std::vector<std::string> cells;
        for (std::string cell; std::getline(row, cell, ',');) {
            cells.push_back(cell);
        }
        places.push_back({static_cast<std::uint32_t>(std::stoul(cells.at(1))),
                          std::stoul(cells.at(4)) % 2 == 1});
    }
    return places;
}

}  // namespace

std::vector<std::uint32_t> BenchNetwork::variance_ds2() const {
    std::vector<std::uint32_t> variance;
    for (std::size_t arc = 0; arc < dry_ds.size(); ++arc) {
        variance.push_back(std::min(dry_ds[arc], 1'000'000U) * (10 + head[arc] % 7));
    }
    return variance;
}

std::vector<std::uint32_t> BenchNetwork::tails() const {
    std::vector<std::uint32_t> tail;
    tail.reserve(head.size());
    for (std::uint32_t node = 0; node < node_count(); ++node) {
        tail.insert(tail.end(), first_out[node + 1] - first_out[node], node);
    }
    return tail;
}

TurnedRound turned_round(const BenchNetwork& network) {
    TurnedRound turned;
    turned.network.name = network.name;
    turned.network.places = network.places;
    turned.network.latitude = network.latitude;
    turned.network.longitude = network.longitude;
    const std::vector<std::uint32_t> tail = network.tails();
    turned.arc_of.resize(network.arc_count());
    std::iota(turned.arc_of.begin(), turned.arc_of.end(), 0U);
    std::stable_sort(turned.arc_of.begin(), turned.arc_of.end(),
                     [&](auto a, auto b) { return network.head[a] < network.head[b]; });
    turned.network.first_out.assign(network.node_count() + std::size_t{1}, 0);
    for (const std::uint32_t arc : turned.arc_of) {
        ++turned.network.first_out[network.head[arc] + 1];
        turned.network.head.push_back(tail[arc]);
        turned.network.dry_ds.push_back(network.dry_ds[arc]);
    }
    std::partial_sum(turned.network.first_out.begin(), turned.network.first_out.end(),
                     turned.network.first_out.begin());
    return turned;
}

BenchNetwork bench_network_of(tests::MadeNetwork made) {
    BenchNetwork network;
    network.name = "made " + std::to_string(made.node_count());
    network.first_out = std::move(made.first_out);
    network.head = std::move(made.head);
    network.dry_ds = std::move(made.dry_ds);
    network.wet_ds = std::move(made.wet_ds);
    network.night_ds = std::move(made.night_ds);
    network.latitude = std::move(made.latitude);
    network.longitude = std::move(made.longitude);
    scatter_places(network);
    return network;
}

BenchNetwork made_bench_network(std::uint32_t nodes) {
    return bench_network_of(tests::make_network({.nodes = nodes, .rivers = 3}));
}

BenchNetwork read_rnet(const std::filesystem::path& file) {
    std::ifstream stream{file, std::ios::binary};
    std::string magic(8, ' ');
    stream.read(magic.data(), 8);
    if (magic != "RNET0001") {
        std::cerr << file << " is not a network file\n";
        std::exit(1);
    }
    const auto sizes = read_array<std::uint32_t>(stream, 2);
    BenchNetwork network;
    network.name = file.stem().string();
    network.first_out = read_array<std::uint32_t>(stream, sizes[0] + std::size_t{1});
    network.head = read_array<std::uint32_t>(stream, sizes[1]);
    network.dry_ds = read_array<std::uint32_t>(stream, sizes[1]);
    network.wet_ds = read_array<std::uint32_t>(stream, sizes[1]);
    network.night_ds = read_array<std::uint32_t>(stream, sizes[1]);
    stream.seekg(2 * std::streamoff{sizes[1]}, std::ios::cur);
    network.latitude = read_array<float, double>(stream, sizes[0]);
    network.longitude = read_array<float, double>(stream, sizes[0]);
    if (!stream) {
        std::cerr << file << " is cut off\n";
        std::exit(1);
    }
    const auto places = file.parent_path() / (file.stem().string() + "_facilities.csv");
    if (std::filesystem::exists(places)) {
        network.places = read_places(places);
    } else {
        scatter_places(network);
    }
    return network;
}

BenchNetwork bench_network_of(const routing::RoadNetwork& roads, const routing::SpeedTable& speeds,
                              const std::string& name) {
    using namespace routing;
    const std::shared_ptr<const RoadNetwork> shared{&roads, [](const RoadNetwork*) {}};
    const auto times = [&](RoadConditions conditions) {
        const Metric metric{shared, speed_rules(speeds, Means::car, conditions)};
        return std::vector<std::uint32_t>(metric.typical_ds().begin(), metric.typical_ds().end());
    };
    BenchNetwork network;
    network.name = name;
    const auto first_out = roads.arrays().first_out;
    network.first_out.assign(first_out.begin(), first_out.end());
    for (const NodeId node : roads.arrays().arc_heads) {
        network.head.push_back(node.value);
    }
    network.dry_ds = times({Surface::dry, Light::day});
    network.wet_ds = times({Surface::wet, Light::day});
    network.night_ds = times({Surface::dry, Light::night});
    for (std::uint32_t node = 0; node < roads.node_count(); ++node) {
        const GeoPoint point = to_geo_point(roads.point(NodeId{node}));
        network.latitude.push_back(point.latitude().degrees);
        network.longitude.push_back(point.longitude().degrees);
    }
    scatter_places(network);
    return network;
}

routing::RoadNetwork road_network_of(const BenchNetwork& network) {
    using namespace routing;
    NetworkBuilder builder;
    builder.keep_node_order(true);
    for (std::uint32_t node = 0; node < network.node_count(); ++node) {
        builder.add_node({Latitude{network.latitude[node]}, Longitude{network.longitude[node]}});
    }
    const auto has_arc = [&](std::uint32_t tail, std::uint32_t head) {
        const auto begin = network.head.begin() + network.first_out[tail];
        const auto end = network.head.begin() + network.first_out[tail + 1];
        return std::find(begin, end, head) != end;
    };
    for (std::uint32_t tail = 0; tail < network.node_count(); ++tail) {
        for (std::uint32_t a = network.first_out[tail]; a < network.first_out[tail + 1]; ++a) {
            const bool goes_back = has_arc(network.head[a], tail);
            if (tail < network.head[a] || !goes_back) {
                builder.add_piece({.from = {tail},
                                   .to = {network.head[a]},
                                   .length = Metres{500},
                                   .attributes = {},
                                   .name = "",
                                   .road = {},
                                   .shape = {},
                                   .forward = MeansSet::all(),
                                   .backward = goes_back ? MeansSet::all() : MeansSet{},
                                   .ferry = std::nullopt});
            }
        }
    }
    return builder.build();
}

std::vector<routing::Snap> snaps_at_nodes(const routing::RoadNetwork& roads) {
    std::vector<routing::Snap> snaps(roads.node_count());
    for (std::uint32_t number = 0; number < roads.piece_count(); ++number) {
        const routing::Piece& piece = roads.piece(routing::PieceId{number});
        const auto put = [&](routing::NodeId node, std::uint32_t along_cm) {
            const GeoPoint point = routing::to_geo_point(roads.point(node));
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

}  // namespace waybourne::bench
