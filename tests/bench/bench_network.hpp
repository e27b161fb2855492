#pragma once
/// The networks that routes are measured on: made up, read from a file, or real.

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "routing/graph_view.hpp"
#include "routing/road_network.hpp"
#include "routing/snap.hpp"
#include "routing/speed_table.hpp"
#include "tests/support/made_network.hpp"

namespace waybourne::bench {

/// Arcs sorted by tail, then head; times in ds, `routing::closed_ds` where closed.
struct BenchNetwork {
    std::string name;
    std::vector<std::uint32_t> first_out;
    std::vector<std::uint32_t> head;
    std::vector<std::uint32_t> dry_ds;
    std::vector<std::uint32_t> wet_ds;
    std::vector<std::uint32_t> night_ds;
    std::vector<double> latitude;
    std::vector<double> longitude;

    struct Place {
        std::uint32_t node = 0;
        /// About one in four.
        bool is_capable = false;
    };
    std::vector<Place> places;

    routing::GraphView view() const { return {first_out, head}; }
    std::uint32_t node_count() const { return static_cast<std::uint32_t>(latitude.size()); }
    std::uint32_t arc_count() const { return static_cast<std::uint32_t>(head.size()); }
    /// Where each arc starts.
    std::vector<std::uint32_t> tails() const;
    /// A spread for every arc in proportion to its time, differing from road to road.
    std::vector<std::uint32_t> variance_ds2() const;
};

/// Every arc turned round; `arc_of` says which arc each was.
struct TurnedRound {
    BenchNetwork network;
    std::vector<std::uint32_t> arc_of;
};
TurnedRound turned_round(const BenchNetwork& network);

/// Of the tests' own generator.
BenchNetwork bench_network_of(tests::MadeNetwork made);
BenchNetwork made_bench_network(std::uint32_t nodes);

/// A `.rnet` file: "RNET0001"; u32 nodes, arcs; u32 first_out[nodes + 1], head[arcs], dry, wet and
/// night times in ds [arcs]; u8 class[arcs], kind[arcs]; f32 latitude[nodes], longitude[nodes].
/// Places from the file `…_facilities.csv` beside it (id,node,latitude,longitude,capabilities; bit
/// 0 of the last counts) if it is there.
BenchNetwork read_rnet(const std::filesystem::path& file);

/// A real map's junctions, by car. Night equals dry day where no speed differs.
BenchNetwork bench_network_of(const routing::RoadNetwork& network,
                              const routing::SpeedTable& speeds, const std::string& name);

/// A road network with the same nodes and one road piece for each pair of arcs: to snap on.
routing::RoadNetwork road_network_of(const BenchNetwork& network);

/// A place at every node of the roads.
std::vector<routing::Snap> snaps_at_nodes(const routing::RoadNetwork& roads);

}  // namespace waybourne::bench
