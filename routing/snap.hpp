#pragma once
/// Where a place that may lie off the road gets onto it.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "routing/road_network.hpp"

namespace waybourne::routing {

class Metric;

/// A place on a road piece.
struct Access {
    /// Never a copy where it comes from a SnapIndex.
    PieceId piece;
    /// From the piece's `from`, along its shape.
    std::uint32_t along_cm = 0;
    /// The point on the road.
    GeoPoint on_road{Latitude{0}, Longitude{0}};
    /// From the place to it, as the crow flies.
    Metres off_road;
    bool operator==(const Access&) const = default;
};

/// A place, and where it can get onto the roads: the nearest usable piece first. More than one only
/// where the nearest piece lies outside the largest connected part of the network and another is
/// near. Belongs to the network it was made on.
struct Snap {
    GeoPoint point{Latitude{0}, Longitude{0}};
    std::vector<Access> accesses;
    bool operator==(const Snap&) const = default;
};

/// All assumptions.
struct SnapSettings {
    /// Farther off the road than this is off the map.
    Metres limit{5000};
    /// A part of the network with fewer nodes is taken for a gap in the map, not for an island:
    /// then the nearest piece of the largest component is tried too …
    std::uint32_t fewest_nodes = 10;
    /// … if it is at most this much farther off.
    Metres detour_to_largest{200};
};

/// @throws InputError if the snap is not of this network
void check_snap(const RoadNetwork& network, const Snap& snap);

/// Finds the nearest road *piece*, not node: an R-tree over all straight segments of all road
/// shapes (ferries left out), packed once (Boost.Geometry). Works across the 180° meridian.
/// Immutable; share it between threads. About 40 bytes per segment. A straight walk may cross
/// water: the map's water is not known here, which callers must say of every walked stretch.
class SnapIndex {
public:
    explicit SnapIndex(std::shared_ptr<const RoadNetwork> network);
    ~SnapIndex();
    SnapIndex(SnapIndex&&) noexcept;
    SnapIndex& operator=(SnapIndex&&) noexcept;
    SnapIndex(const SnapIndex&) = delete;
    SnapIndex& operator=(const SnapIndex&) = delete;

    /// None where no piece that is open in `metric` is within the limit. O(log segments).
    std::optional<Snap> snap(const GeoPoint& point, const Metric& metric,
                             const SnapSettings& settings = {}) const;
    /// The same with any choice of pieces; a stretch of which a copy is chosen is chosen.
    std::optional<Snap> snap(const GeoPoint& point,
                             const std::function<bool(const Piece&)>& is_usable,
                             const SnapSettings& settings = {}) const;

private:
    struct Tree;
    /// Of the piece and its copies.
    bool is_any_usable(PieceId original, const std::function<bool(const Piece&)>& is_usable) const;
    std::optional<Access> nearest(const GeoPoint& point,
                                  const std::function<bool(const Piece&)>& is_usable) const;

    std::shared_ptr<const RoadNetwork> network_;
    std::unique_ptr<const Tree> tree_;
    /// Nodes in each component.
    std::vector<std::uint32_t> component_sizes_;
};

}  // namespace waybourne::routing
