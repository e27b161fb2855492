#include "routing/road_network.hpp"

#include <cmath>
#include <utility>

namespace waybourne::routing {

namespace {

constexpr double steps_per_degree = 1e7;

}  // namespace

FixedPoint to_fixed(const GeoPoint& point) {
    return {static_cast<std::int32_t>(std::lround(point.latitude().degrees * steps_per_degree)),
            static_cast<std::int32_t>(std::lround(point.longitude().degrees * steps_per_degree))};
}

GeoPoint to_geo_point(FixedPoint point) {
    return {Latitude{point.latitude / steps_per_degree},
            Longitude{point.longitude / steps_per_degree}};
}

RoadNetwork::RoadNetwork(NetworkArrays arrays, std::vector<RoadAttributes> attributes,
                         std::vector<Ferry> ferries, std::shared_ptr<const void> storage)
    : arrays_(arrays),
      attributes_(std::move(attributes)),
      ferries_(std::move(ferries)),
      storage_(std::move(storage)) {}

std::string_view RoadNetwork::name_of(const Piece& piece) const {
    const std::uint32_t first = arrays_.name_first[piece.name];
    const std::uint32_t end = arrays_.name_first[piece.name + 1];
    return {arrays_.name_characters.data() + first, end - first};
}

std::vector<FixedPoint> RoadNetwork::shape_of(const Piece& piece) const {
    std::vector<FixedPoint> points;
    points.reserve(piece.shape_count + 2);
    points.push_back(point(piece.from));
    const auto inner = arrays_.shape_points.subspan(piece.shape_first, piece.shape_count);
    points.insert(points.end(), inner.begin(), inner.end());
    points.push_back(point(piece.to));
    return points;
}

}  // namespace waybourne::routing
