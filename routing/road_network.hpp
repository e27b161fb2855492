#pragma once
/// The roads as a graph: nodes where ways meet, arcs between them, and the shape of every road.

#include <compare>
#include <cstdint>
#include <limits>
#include <memory>
#include <span>
#include <string_view>
#include <vector>

#include "routing/ferry.hpp"
#include "routing/road_attributes.hpp"
#include "vocabulary/distance.hpp"
#include "vocabulary/geo_point.hpp"

namespace waybourne::routing {

/// A number of one kind of thing in one network; numbers of different kinds do not mix.
template <typename Tag>
struct Index {
    std::uint32_t value = std::numeric_limits<std::uint32_t>::max();
    auto operator<=>(const Index&) const = default;
    /// The value of a default-made index: "there is none".
    static constexpr Index none() { return {}; }
    bool exists() const { return *this != none(); }
};

/// A place where roads meet or end.
using NodeId = Index<struct NodeTag>;
/// One direction of one road piece.
using ArcId = Index<struct ArcTag>;
/// A stretch of one road between two nodes, both directions together.
using PieceId = Index<struct PieceTag>;
/// A strongly connected component, for cars on a dry day: 0 is the largest. An island is a
/// component.
using ComponentId = Index<struct ComponentTag>;

/// The number of the OpenStreetMap way that a piece was cut from. 0: not from the map.
struct RoadId {
    std::int64_t value = 0;
    auto operator<=>(const RoadId&) const = default;
};

/// A position in 10⁻⁷ degrees, the resolution of OpenStreetMap (about 1 cm).
struct FixedPoint {
    std::int32_t latitude = 0;
    std::int32_t longitude = 0;
    auto operator<=>(const FixedPoint&) const = default;
};

FixedPoint to_fixed(const GeoPoint& point);
GeoPoint to_geo_point(FixedPoint point);

/// A piece of road as it is stored: plain data, 48 bytes.
struct Piece {
    RoadId road;
    NodeId from;
    NodeId to;
    /// From `from` to `to`, and back; none where nobody may go that way.
    ArcId forward;
    ArcId backward;
    std::uint32_t length_cm = 0;
    /// Into `RoadNetwork::attributes()`.
    std::uint32_t attributes = 0;
    /// Into the names; 0 is the empty name.
    std::uint32_t name = 0;
    /// The points strictly between the two nodes, in the order from `from` to `to`.
    std::uint32_t shape_first = 0;
    std::uint32_t shape_count = 0;
    /// Into `RoadNetwork::ferries()`; the largest number where it is a road.
    std::uint32_t ferry = no_ferry;
    static constexpr std::uint32_t no_ferry = std::numeric_limits<std::uint32_t>::max();
    bool is_ferry() const { return ferry != no_ferry; }
    bool operator==(const Piece&) const = default;
};

/// Another number for the same node or piece on the ground. Turn restrictions make them: where one
/// forbids the way on to those who came by a certain way, these arrive at a copy of the junction,
/// from which the arcs leave that they may take. So every way along the arcs is an allowed one. A
/// copy has the position, length, name and shape of its original, which is no copy itself.
template <typename Id>
struct Copy {
    Id original;
    Id copy;
    auto operator<=>(const Copy&) const = default;
};
using NodeCopy = Copy<NodeId>;
using PieceCopy = Copy<PieceId>;

/// The large arrays of a network, wherever they lie: in vectors or in a memory-mapped file. n
/// nodes, m arcs, p pieces. The arcs that leave node v are those from first_out[v] to first_out[v +
/// 1].
struct NetworkArrays {
    std::span<const FixedPoint> node_points;       // n
    std::span<const ComponentId> node_components;  // n
    std::span<const std::uint32_t> first_out;      // n + 1
    std::span<const NodeId> arc_heads;             // m
    std::span<const PieceId> arc_pieces;           // m
    std::span<const MeansSet> arc_means;           // m: who may use the arc
    std::span<const Piece> pieces;                 // p
    std::span<const FixedPoint> shape_points;
    std::span<const std::uint32_t> name_first;  // names + 1
    std::span<const char> name_characters;
    std::span<const NodeCopy> node_copies;    // ascending; empty without turn restrictions
    std::span<const PieceCopy> piece_copies;  // ascending
};

/// Immutable; share it between threads. Made by NetworkBuilder, which checks its promises, or read
/// from a network file, whose checksums stand for them. A copy is cheap: it shares the arrays.
class RoadNetwork {
public:
    RoadNetwork();
    /// @param storage what keeps the arrays alive
    RoadNetwork(NetworkArrays arrays, std::vector<RoadAttributes> attributes,
                std::vector<Ferry> ferries, std::shared_ptr<const void> storage);

    std::uint32_t node_count() const {
        return static_cast<std::uint32_t>(arrays_.node_points.size());
    }
    std::uint32_t arc_count() const { return static_cast<std::uint32_t>(arrays_.arc_heads.size()); }
    std::uint32_t piece_count() const { return static_cast<std::uint32_t>(arrays_.pieces.size()); }

    FixedPoint point(NodeId node) const { return arrays_.node_points[node.value]; }
    ComponentId component(NodeId node) const { return arrays_.node_components[node.value]; }
    /// The arcs that leave `node` are those from `first_arc(node)` up to but without
    /// `end_arc(node)`.
    ArcId first_arc(NodeId node) const { return {arrays_.first_out[node.value]}; }
    ArcId end_arc(NodeId node) const { return {arrays_.first_out[node.value + 1]}; }

    NodeId head(ArcId arc) const { return arrays_.arc_heads[arc.value]; }
    NodeId tail(ArcId arc) const { return is_forward(arc) ? piece(arc).from : piece(arc).to; }
    PieceId piece_of(ArcId arc) const { return arrays_.arc_pieces[arc.value]; }
    const Piece& piece(ArcId arc) const { return piece(piece_of(arc)); }
    MeansSet means(ArcId arc) const { return arrays_.arc_means[arc.value]; }
    /// Itself where it is no copy. O(log copies).
    NodeId original(NodeId node) const;
    PieceId original(PieceId piece) const;
    /// The copies of an original, itself not among them; mostly none. O(log copies).
    std::span<const NodeCopy> copies(NodeId original) const;
    std::span<const PieceCopy> copies(PieceId original) const;

    /// Whether the arc runs from its piece's `from` to its `to`.
    bool is_forward(ArcId arc) const { return piece(arc).forward == arc; }

    const Piece& piece(PieceId id) const { return arrays_.pieces[id.value]; }
    std::span<const Piece> pieces() const { return arrays_.pieces; }
    const RoadAttributes& attributes_of(const Piece& piece) const {
        return attributes_[piece.attributes];
    }
    /// Empty for a road without a name. Lives as long as the network.
    std::string_view name_of(const Piece& piece) const;
    /// The whole shape, both ends included, from `from` to `to`.
    std::vector<FixedPoint> shape_of(const Piece& piece) const;
    /// The same without the two ends.
    std::span<const FixedPoint> inner_points(const Piece& piece) const;

    const std::vector<RoadAttributes>& attributes() const { return attributes_; }
    const std::vector<Ferry>& ferries() const { return ferries_; }
    /// For writing the network to a file.
    const NetworkArrays& arrays() const { return arrays_; }

private:
    struct Originals;

    NetworkArrays arrays_;
    std::vector<RoadAttributes> attributes_;
    std::vector<Ferry> ferries_;
    /// Null where there are no copies.
    std::shared_ptr<const Originals> originals_;
    std::shared_ptr<const void> storage_;
};

/// Calls `visit(PieceId)` with the original and all its copies, whichever of them is given.
template <typename Visit>
void each_version(const RoadNetwork& network, PieceId piece, const Visit& visit) {
    const PieceId original = network.original(piece);
    visit(original);
    for (const PieceCopy& pair : network.copies(original)) {
        visit(pair.copy);
    }
}

}  // namespace waybourne::routing
