#pragma once
/// What the tags of OpenStreetMap mean for roads. The rules follow the tag pages of the
/// OpenStreetMap wiki (highway, access, oneway, barrier, ford, seasonal, route=ferry), from memory
/// where no page is named. For people: docs/reference/openstreetmap-tags.md.

#include <optional>
#include <osmium/osm/tag.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "routing/road_attributes.hpp"
#include "routing/speed_table.hpp"

namespace waybourne::routing {

/// A way that is a road or a ferry.
struct RoadTags {
    RoadAttributes attributes;
    /// Who may go along the way, and against it.
    MeansSet forward;
    MeansSet backward;
    /// What was assumed or ignored; literals.
    std::vector<const char*> assumed;
};

/// Either a road, or why it is none; neither for a way that has nothing to do with travelling.
struct WayMeaning {
    std::optional<RoadTags> road;
    /// A literal, or null.
    const char* left_out = nullptr;
};

/// What a way is. Rules:
///
/// - Access, from the general to the particular, the last one said counts: `access`, `vehicle`,
///   `motor_vehicle`, `motorcar` or `motorcycle`; `access`, `foot` for walkers. `no`, `private`,
///   `military`, `agricultural`, `forestry` and `permit` close; all other known values open.
///   `emergency=yes` opens to all vehicles, since every trip here is an emergency; `emergency=no`
///   closes to them. `4wd_only=yes` closes to cars. `…:forward` and `…:backward` of these keys
///   count for their direction, before what the key says of both. What the class says when nothing
///   else does: motorways and `motorroad=yes` not on foot; paths, footways, cycleways, bridleways,
///   steps and pedestrian streets on foot only; busways to nobody.
/// - One-way for vehicles: `oneway=yes|true|1`, against the way `-1|reverse`; motorways and
///   roundabouts unless `oneway=no`. `oneway=reversible` closes to vehicles: which way is not
///   known. `oneway:vehicle`, `oneway:motor_vehicle`, `oneway:motorcar` and `oneway:motorcycle`
///   count before it, the last one said. Walkers go both ways.
/// - What holds at certain hours or under conditions only, the speed limit of one direction, and
///   values of access and one-way that are not known are ignored and named in `assumed`.
/// - Left out: areas, roads not built or not for travelling, winter and ice roads.
/// - Ford: `ford=*` but `no`, `highway=ford`, `bridge=low_water_crossing`. Seasonal: `seasonal=*`,
///   `intermittent=*`, `flood_prone=*` but `no`; `seasonal=wet_season` is the other way round.
WayMeaning meaning_of(const osmium::TagList& tags, const SpeedTable& speeds);

/// Who is stopped at a node. Empty for most.
///
/// - All vehicles: cycle and motorcycle barriers, kissing gates, stiles, turnstiles. Cars and
///   four-wheel drives only: bollards, blocks, jersey barriers, logs, debris, planters, chains.
///   Everybody: what is locked (`locked=yes`), walls, fences. Gates, lift gates, cattle grids, toll
///   booths and the like stop nobody unless their access tags say so.
/// - Access tags of the node count as those of a way; `emergency=yes` opens to vehicles.
/// @param assumed gets what was assumed or ignored, literals: barriers that these rules do not know
///        stop nobody; hours, conditions and access values that are not known change nothing
MeansSet stopped_at(const osmium::TagList& tags, std::vector<const char*>& assumed);

/// Closed, or not sailing, when wet: `seasonal=*` but `no` and `wet_season`.
bool is_for_dry_season(const osmium::TagList& tags);
/// Open, or sailing, when wet only: `seasonal=wet_season`.
bool is_for_wet_season(const osmium::TagList& tags);

/// A ford as a node of a road.
bool is_ford_node(const osmium::TagList& tags);

/// `healthcare`, or `amenity` if that is a hospital, clinic or doctors; null for anything else.
const char* health_site_kind(const osmium::TagList& tags);

/// The name of a road or place; without it the road's number (`ref`); else empty.
std::string_view name_of(const osmium::TagList& tags);

/// In km/h, from `50`, `50 km/h` or `30 mph`; none for other forms (`none`, `signals`, `XX:urban`).
std::optional<std::uint8_t> parse_maxspeed(std::string_view text);

}  // namespace waybourne::routing
