#pragma once
/// What an import keeps of a file between its two readings.

#include <cstdint>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "routing/internal/osm_turns.hpp"
#include "routing/internal/remarks.hpp"
#include "routing/osm_import.hpp"

namespace waybourne::routing {

/// A road or ferry way, its nodes in `OsmWays::node_ids`.
struct KeptWay {
    std::int64_t id = 0;
    std::size_t first_node = 0;
    std::uint32_t node_count = 0;
    /// Into `OsmWays::names` and `OsmWays::ferries`.
    std::uint32_t name = 0;
    std::uint32_t ferry = 0;
    RoadAttributes attributes;
    MeansSet forward;
    MeansSet backward;
    bool is_ferry() const { return attributes.kind.road_class == RoadClass::ferry; }
};

/// The tags of a ferry, as they stand.
struct FerryTags {
    std::int64_t way = 0;
    std::string duration;
    std::string interval;
    std::string timetable;
    std::string opening_hours;
    bool sails_when_wet = true;
    bool sails_when_dry = true;
};

/// A building or ground of a place of care; its point is the middle of its nodes.
struct KeptSite {
    std::int64_t way = 0;
    std::string name;
    std::string kind;
    std::vector<std::int64_t> node_ids;
};

/// A river or canal.
struct KeptRiver {
    std::string name;
    std::vector<std::int64_t> node_ids;
};

struct OsmWays {
    std::vector<KeptWay> ways;
    std::vector<std::int64_t> node_ids;
    std::vector<std::string> names{std::string{}};
    std::vector<FerryTags> ferries;
    std::vector<KeptTurn> turns;
    std::uint64_t turn_relations = 0;
    std::vector<KeptSite> sites;
    std::vector<KeptRiver> rivers;
};

/// A node that a kept way, site or river names.
struct KeptNode {
    FixedPoint point;
    /// How often roads name it (ends count twice), so 2 or more is a junction; 0: only a site
    /// or a river does.
    std::uint8_t uses = 0;
    MeansSet stopped;
    bool is_ford = false;
    /// A way that is no ferry runs over it, or a ferry's way ends here.
    bool is_landing = false;
    bool is_found = false;
    /// A way that needs it came first.
    bool is_awaited = false;
};

/// All nodes of the kept ways, by ascending OpenStreetMap number.
struct OsmNodes {
    std::vector<std::int64_t> ids;
    std::vector<KeptNode> nodes;
    /// Places of care that are nodes.
    std::vector<HealthSite> sites;
    std::uint64_t barriers = 0;
    std::uint64_t fords = 0;
};

/// Cuts the ways at junctions and builds the network.
ImportedMap build_map(OsmWays ways, OsmNodes nodes, const SpeedTable& speeds,
                      const ImportSettings& settings, Remarks& left_out, Remarks& assumed);

}  // namespace waybourne::routing
