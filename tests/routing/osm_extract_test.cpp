#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <random>

#include "routing/metric.hpp"
#include "routing/osm_import.hpp"
#include "routing/reference_router.hpp"
#include "routing/speed_rules.hpp"
#include "tests/routing/map_fixture.hpp"
#include "tests/routing/weighted_network.hpp"

// The extracts are © OpenStreetMap contributors, Open Database License 1.0.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

/// An extract and the largest strong component of the car graph that another import found in it
/// (SOURCES.md beside the data; parallel arcs merged, tracks in).
struct Extract {
    const char* file;
    double nodes;
    double arcs;
};
constexpr Extract extracts[] = {{"campo-grande.osm.pbf", 8559, 25047},
                                {"liechtenstein.osm.pbf", 4523, 10215},
                                {"fiji-ferry.osm.pbf", 1299, 2810},
                                {"andorra.osm.pbf", 1885, 3786}};

/// Samples in Debian's package python-osmnx-doc, for machines without the extracts.
constexpr const char* debian_folder = "/usr/share/doc/python-osmnx-doc/examples/tests/input_data/";
constexpr const char* debian_samples[] = {"West-Oakland.osm.bz2",
                                          "planet_10.068,48.135_10.071,48.137.osm"};

/// A place exactly at an end of a piece that is open.
Snap end_of(const RoadNetwork& network, PieceId id, bool at_from) {
    const Piece& piece = network.piece(id);
    const GeoPoint point = to_geo_point(network.point(at_from ? piece.from : piece.to));
    return {point, {{id, at_from ? 0 : piece.length_cm, point, Metres{0}}}};
}

/// Random pairs by the router and by LEMON, over the same arcs; how many were compared.
std::size_t compare_pairs(const std::shared_ptr<const Metric>& metric, std::size_t sources,
                          std::size_t targets, unsigned seed) {
    const RoadNetwork& network = metric->network();
    const LemonOracle oracle{network.node_count(), oracle_arcs(*metric)};
    std::vector<PieceId> open;
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const Piece& piece = network.piece(PieceId{number});
        if (metric->is_open(piece) && !piece.is_ferry()) {
            open.push_back({number});
        }
    }
    REQUIRE_FALSE(open.empty());
    std::mt19937 random{seed};
    const auto draw = [&](NodeId& node) {
        const PieceId id = open[random() % open.size()];
        const bool at_from = random() % 2 == 0;
        node = at_from ? network.piece(id).from : network.piece(id).to;
        return end_of(network, id, at_from);
    };
    ReferenceRouter router{metric};
    std::size_t compared = 0;
    std::size_t reached = 0;
    for (std::size_t i = 0; i < sources; ++i) {
        NodeId source;
        const Snap from = draw(source);
        std::vector<Snap> to;
        std::vector<NodeId> nodes(targets);
        for (NodeId& node : nodes) {
            to.push_back(draw(node));
        }
        const auto times = router.travel_times({from, Instant{}}, to, Seconds::max());
        // A trip starts without a past and ends at whichever copy is nearest.
        const std::vector<std::uint32_t> expected =
            oracle.distances(network.original(source).value);
        for (std::size_t j = 0; j < targets; ++j) {
            CAPTURE(source.value);
            CAPTURE(nodes[j].value);
            const NodeId original = network.original(nodes[j]);
            std::uint32_t typical_ds = expected[original.value];
            for (const NodeCopy& pair : network.copies(original)) {
                typical_ds = std::min(typical_ds, expected[pair.copy.value]);
            }
            if (typical_ds == LemonOracle::unreachable) {
                CHECK_FALSE(times[j]);
            } else {
                REQUIRE(times[j]);
                CHECK(times[j]->typical == to_travel_time(typical_ds, typical_ds).typical);
                ++reached;
            }
            ++compared;
        }
    }
    CHECK(reached > compared / 4);
    return compared;
}

std::shared_ptr<const Metric> metric_of(const RoadNetwork& network, Means means,
                                        RoadConditions conditions) {
    return std::make_shared<const Metric>(std::make_shared<const RoadNetwork>(network),
                                          speed_rules(speed_table(), means, conditions));
}

}  // namespace

TEST_CASE(
    "Real maps are read whole: the largest connected part is as large as another reader says") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    for (const Extract& extract : extracts) {
        CAPTURE(extract.file);
        const ImportedMap map = import_osm(*data + "/roads/" + extract.file, speed_table());
        const ComponentReport& found = map.report.components;
        // We keep a node where one way goes over into the next, so that a closure can name a way,
        // and keep parallel arcs and footpaths between the nodes: more, but not by much.
        CHECK(found.nodes_in_largest >= extract.nodes);
        CHECK(found.nodes_in_largest <= extract.nodes * 1.15);
        CHECK(found.arcs_in_largest >= extract.arcs);
        CHECK(found.arcs_in_largest <= extract.arcs * 1.30);
        CHECK(map.report.bytes == std::filesystem::file_size(*data + "/roads/" + extract.file));
    }
}

TEST_CASE("On real maps 10,000 random trips take the time that LEMON finds") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    for (const Extract& extract : extracts) {
        CAPTURE(extract.file);
        const ImportedMap map = import_osm(*data + "/roads/" + extract.file, speed_table());
        CHECK(compare_pairs(metric_of(map.network, Means::car, {}), 50, 200, 1) == 10'000);
        CHECK(compare_pairs(metric_of(map.network, Means::on_foot, {Surface::wet, Light::night}), 5,
                            200, 2) == 1'000);
    }
}

TEST_CASE("On the small maps that Debian carries random trips take the time that LEMON finds") {
    for (const char* sample : debian_samples) {
        CAPTURE(sample);
        const std::string path = std::string{debian_folder} + sample;
        if (!std::filesystem::exists(path)) {
            CHECK_MESSAGE(std::getenv("CI") == nullptr, "the package python-osmnx-doc is needed");
            std::cout << "not run for want of the Debian package python-osmnx-doc: " << sample
                      << '\n';
            continue;
        }
        const ImportedMap map = import_osm(path, speed_table());
        CHECK(map.report.roads > 0);
        CHECK(compare_pairs(metric_of(map.network, Means::car, {}), 100, 100, 3) == 10'000);
        CHECK(compare_pairs(metric_of(map.network, Means::on_foot, {}), 100, 100, 4) == 10'000);
    }
}
