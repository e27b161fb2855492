#pragma once
/// Puts a road network together and checks what the engines rely on.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "routing/road_network.hpp"
#include "routing/turn_restriction.hpp"

namespace waybourne::routing {

struct PieceVersions;

/// One piece of road to add.
struct NewPiece {
    NodeId from;
    NodeId to;
    /// Measured along the shape when none is given.
    std::optional<Metres> length;
    RoadAttributes attributes;
    std::string name;
    RoadId road;
    /// Strictly between the two nodes.
    std::vector<GeoPoint> shape;
    MeansSet forward = MeansSet::all();
    MeansSet backward = MeansSet::all();
    /// What `add_ferry` gave.
    std::optional<std::uint32_t> ferry;
    /// What `add_piece` gave for the same stretch on the ground; see `Copy`.
    std::optional<std::uint32_t> copy_of = {};
};

/// Nodes and pieces in, an immutable network out. Node numbers are changed for locality (along a
/// Hilbert curve) unless `keep_node_order` is asked for; parallel arcs, loops and pieces of length
/// zero are allowed.
class NetworkBuilder {
public:
    /// The number that `add_piece` takes; the network's own may differ, see `build`.
    NodeId add_node(const GeoPoint& point);
    /// The same place on the ground once more, see `Copy`; for building a network again that has
    /// copies.
    /// @throws InputError if `original` does not exist or is a copy
    NodeId add_copy(NodeId original);
    /// No later start may arrive earlier, or the engines would not be exact: a `Timetable` keeps
    /// that promise, and one ferry has one crossing time.
    /// @throws InputError if a crossing takes no time, or it or the wait is negative or longer than
    /// a
    ///         week
    std::uint32_t add_ferry(const Ferry& ferry);
    /// @throws InputError if an end does not exist, the length is negative, not a number or over
    ///         40,000 km, or the ferry or the piece it copies does not exist
    /// @return its number, for `forbid` and `copy_of`; pieces are counted from 0
    std::uint32_t add_piece(const NewPiece& piece);
    /// `build` makes the copies that keep these.
    /// @throws InputError if there are fewer than two parts, one does not exist or is a copy, or
    /// one does not begin where the last ends
    void forbid(ForbiddenWay way);
    void require(RequiredWay way);

    NetworkBuilder& keep_node_order(bool keep);

    /// The network; the builder is empty afterwards. O((n + m) log n).
    /// @throws InputError if there are more nodes or arcs than 32-bit numbers can name
    RoadNetwork build();
    /// After `build`: the network's number of each node added.
    const std::vector<NodeId>& node_numbers() const { return node_numbers_; }

private:
    std::uint32_t attributes_index(const RoadAttributes& attributes);
    std::uint32_t name_index(std::string_view name);
    void check(const std::vector<PieceDirection>& parts) const;
    void split_at_forbidden_ways();
    void split(const PieceVersions& piece);

    std::vector<FixedPoint> points_;
    std::vector<Piece> pieces_;
    /// Of each node and piece; itself where it is no copy.
    std::vector<std::uint32_t> node_originals_;
    std::vector<std::uint32_t> piece_originals_;
    std::vector<ForbiddenWay> forbidden_;
    std::vector<RequiredWay> required_;
    std::vector<MeansSet> forward_means_;
    std::vector<MeansSet> backward_means_;
    std::vector<FixedPoint> shape_points_;
    std::vector<RoadAttributes> attributes_;
    std::map<std::uint64_t, std::uint32_t> attribute_numbers_;
    std::vector<Ferry> ferries_;
    std::map<std::string, std::uint32_t, std::less<>> name_numbers_;
    std::vector<std::string> names_;
    std::vector<NodeId> node_numbers_;
    bool keeps_node_order_ = false;
};

}  // namespace waybourne::routing
