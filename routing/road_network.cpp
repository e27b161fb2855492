#include "routing/road_network.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace waybourne::routing {

namespace {

constexpr double steps_per_degree = 1e7;

/// The copies of a span that is sorted by original.
template <typename Id>
std::span<const Copy<Id>> copies_in(std::span<const Copy<Id>> all, Id original) {
    const auto first =
        std::lower_bound(all.begin(), all.end(), original,
                         [](const Copy<Id>& copy, Id wanted) { return copy.original < wanted; });
    const auto end = std::find_if(first, all.end(),
                                  [&](const Copy<Id>& copy) { return copy.original != original; });
    return {first, end};
}

/// The same pairs sorted by copy.
template <typename Id>
std::vector<Copy<Id>> by_copy(std::span<const Copy<Id>> all) {
    std::vector<Copy<Id>> sorted(all.begin(), all.end());
    std::sort(sorted.begin(), sorted.end(),
              [](const Copy<Id>& a, const Copy<Id>& b) { return a.copy < b.copy; });
    return sorted;
}

template <typename Id>
Id original_in(const std::vector<Copy<Id>>& sorted, Id id) {
    const auto found =
        std::lower_bound(sorted.begin(), sorted.end(), id,
                         [](const Copy<Id>& copy, Id wanted) { return copy.copy < wanted; });
    return found != sorted.end() && found->copy == id ? found->original : id;
}

}  // namespace

FixedPoint to_fixed(const GeoPoint& point) {
    return {static_cast<std::int32_t>(std::lround(point.latitude().degrees * steps_per_degree)),
            static_cast<std::int32_t>(std::lround(point.longitude().degrees * steps_per_degree))};
}

GeoPoint to_geo_point(FixedPoint point) {
    return {Latitude{point.latitude / steps_per_degree},
            Longitude{point.longitude / steps_per_degree}};
}

struct RoadNetwork::Originals {
    std::vector<NodeCopy> of_nodes;
    std::vector<PieceCopy> of_pieces;
};

RoadNetwork::RoadNetwork(NetworkArrays arrays, std::vector<RoadAttributes> attributes,
                         std::vector<Ferry> ferries, std::shared_ptr<const void> storage)
    : arrays_(arrays),
      attributes_(std::move(attributes)),
      ferries_(std::move(ferries)),
      storage_(std::move(storage)) {
    if (!arrays_.node_copies.empty() || !arrays_.piece_copies.empty()) {
        originals_ = std::make_shared<const Originals>(
            Originals{by_copy(arrays_.node_copies), by_copy(arrays_.piece_copies)});
    }
}

NodeId RoadNetwork::original(NodeId node) const {
    return originals_ ? original_in(originals_->of_nodes, node) : node;
}

PieceId RoadNetwork::original(PieceId piece) const {
    return originals_ ? original_in(originals_->of_pieces, piece) : piece;
}

std::span<const NodeCopy> RoadNetwork::copies(NodeId original) const {
    return copies_in(arrays_.node_copies, original);
}

std::span<const PieceCopy> RoadNetwork::copies(PieceId original) const {
    return copies_in(arrays_.piece_copies, original);
}

std::string_view RoadNetwork::name_of(const Piece& piece) const {
    const std::uint32_t first = arrays_.name_first[piece.name];
    const std::uint32_t end = arrays_.name_first[piece.name + 1];
    return {arrays_.name_characters.data() + first, end - first};
}

std::span<const FixedPoint> RoadNetwork::inner_points(const Piece& piece) const {
    return arrays_.shape_points.subspan(piece.shape_first, piece.shape_count);
}

std::vector<FixedPoint> RoadNetwork::shape_of(const Piece& piece) const {
    std::vector<FixedPoint> points;
    points.reserve(piece.shape_count + 2);
    points.push_back(point(piece.from));
    const auto inner = inner_points(piece);
    points.insert(points.end(), inner.begin(), inner.end());
    points.push_back(point(piece.to));
    return points;
}

}  // namespace waybourne::routing
