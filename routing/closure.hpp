#pragma once
/// What has changed on the roads for a while: closures, slow-downs and links the map does not have.

#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "routing/road_network.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::routing {

/// From–until; an open end has none. The moment `until` is outside.
struct Period {
    std::optional<Instant> from;
    std::optional<Instant> until;
    bool contains(Instant at) const { return (!from || *from <= at) && (!until || at < *until); }
    bool operator==(const Period&) const = default;
};

/// Every road piece that touches or crosses this ring. Three points or more; closed by itself; may
/// cross the 180° meridian; is taken to span less than 180° of longitude.
struct Area {
    std::vector<GeoPoint> ring;
    bool operator==(const Area&) const = default;
};

/// A road by its name as the map writes it, whole, capitals ignored (ASCII).
struct RoadName {
    std::string name;
    bool operator==(const RoadName&) const = default;
};

/// Which roads are meant.
using Where = std::variant<RoadId, RoadName, Area>;

/// A road that is closed, slower than usual or open only at certain hours, for a while.
struct RoadChange {
    std::string id;
    Where where;
    /// None: closed, or as usual where there are `hours`. Else travel times are multiplied by this;
    /// at least 1.
    std::optional<double> slower_by;
    Period period;
    /// Whom it concerns: a washed-out bridge may still carry people on foot.
    MeansSet means = MeansSet::all();
    std::string reason;
    /// Open only at these times of the week: a gate that is locked at night, a curfew, a ford that
    /// is passed by day. Whoever comes at another time waits; whoever has set out on the piece, or
    /// on a part of it, may finish it. A ferry keeps its own timetable.
    std::optional<Timetable> hours{};
    bool operator==(const RoadChange&) const = default;
};

/// A link that the map lacks, e.g. a pontoon beside a broken bridge. Both ways.
struct TemporaryLink {
    std::string id;
    GeoPoint from;
    GeoPoint to;
    double kilometres_per_hour = 5;
    Period period;
    MeansSet means = MeansSet::all();
    std::string reason;
    bool operator==(const TemporaryLink&) const = default;
};

/// The pieces that `where` means, in ascending order. By id or name: O(pieces); by area: O(shape
/// points).
/// @throws InputError for an area of fewer than three points
std::vector<PieceId> pieces_at(const RoadNetwork& network, const Where& where);

/// The network with every link added, ends joined to the nearest node. A link is named after its
/// id, so that a metric can close it outside its period; it is a paved road whose speed limit is
/// the link's speed, so that walkers walk at their own.
/// @throws InputError naming each link with an end farther than `reach` from any node, or with a
///         speed outside 1 to 140 km/h
RoadNetwork with_links(const RoadNetwork& network, std::span<const TemporaryLink> links,
                       Metres reach);

}  // namespace waybourne::routing
