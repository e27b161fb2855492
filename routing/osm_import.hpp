#pragma once
/// Roads, ferries, rivers and the places of care that OpenStreetMap knows, from a file to a road
/// network.

#include <filesystem>
#include <stop_token>
#include <string>
#include <string_view>
#include <vector>

#include "routing/components.hpp"
#include "routing/river.hpp"
#include "routing/road_network.hpp"
#include "routing/speed_table.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::routing {

struct ImportSettings {
    /// The district's IANA time zone, in which ferry timetables are written.
    std::string time_zone = "UTC";
    /// How many examples the report gives of each thing left out.
    std::size_t examples = 5;
};

/// Something that was left out or read with an assumption: why, how often, and the first few
/// OpenStreetMap numbers to look at (of ways, nodes or relations, as the reason says).
struct ImportRemark {
    std::string reason;
    std::uint64_t count = 0;
    std::vector<std::int64_t> examples;
    bool operator==(const ImportRemark&) const = default;
};

/// A place of care on the map: the first draft of a registry row. What it can do is not known.
struct HealthSite {
    GeoPoint point;
    /// May be empty.
    std::string name;
    /// The value of `healthcare` or, without it, of `amenity`: hospital, clinic, doctors …
    std::string kind;
    /// `node/123` or `way/123`.
    std::string osm_id;
    bool operator==(const HealthSite&) const = default;
};

struct ImportReport {
    std::uint64_t bytes = 0;
    std::chrono::milliseconds duration{};
    /// Ways that became pieces of road or ferry, and those among them that are ferries.
    std::uint64_t roads = 0;
    std::uint64_t ferries = 0;
    /// Nodes that these ways name and the file lacks, as at the edge of an extract. A road ends
    /// there.
    std::uint64_t missing_nodes = 0;
    /// Relations that say something about turns, and those among them that the network keeps. The
    /// others are listed under `left_out`.
    std::uint64_t turn_relations = 0;
    std::uint64_t turn_restrictions = 0;
    std::uint64_t fords = 0;
    /// Barriers at which somebody is stopped.
    std::uint64_t barriers = 0;
    /// Most frequent first.
    std::vector<ImportRemark> left_out;
    /// Kept, with what was assumed or ignored. Most frequent first.
    std::vector<ImportRemark> assumed;
    /// Sizes, the largest strongly connected part for cars on a dry day, and the parts outside it.
    ComponentReport components;
};

struct ImportedMap {
    RoadNetwork network;
    ImportReport report;
    std::vector<HealthSite> health_sites;
    /// To be drawn only. One that the file holds in pieces stays in pieces.
    std::vector<River> rivers = {};
};

/// Reads `.osm`, `.osm.pbf`, `.osm.gz` or `.osm.bz2` with libosmium, twice: ways and relations
/// first, then the nodes that are needed. Memory grows with the roads, not with the file: about 40
/// bytes per node of a road. What the tags mean is written in docs/reference/openstreetmap-tags.md.
///
/// A road becomes one piece from junction to junction; nodes between keep its shape. No road is
/// left out for being an island: it is a component of the network, and listed.
///
/// @throws InputError if the file cannot be opened, is damaged, is not OpenStreetMap data, is a
///         history file, has ways before their nodes, or holds no road; for a time zone that is not
///         known
/// @throws Unavailable if `stop` was requested
ImportedMap import_osm(const std::filesystem::path& file, const SpeedTable& speeds,
                       const ImportSettings& settings = {}, const Progress& progress = {},
                       const std::stop_token& stop = {});

/// The same from memory. `format` is `osm` or `osm.pbf`.
ImportedMap import_osm_text(std::string_view content, const std::string& format,
                            const SpeedTable& speeds, const ImportSettings& settings = {});

}  // namespace waybourne::routing
