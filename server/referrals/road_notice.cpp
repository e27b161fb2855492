#include "server/referrals/road_notice.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace waybourne::server {

namespace {

/// Ways are drawn through the points of the map, so that this only has to absorb rounding.
constexpr double near_m = 3;

/// Metres east and north of an origin, on a plane that touches the earth there.
struct Flat {
    double east = 0;
    double north = 0;
};

Flat flat(const GeoPoint& point, const GeoPoint& origin) {
    constexpr double radians = std::numbers::pi / 180;
    double east = point.longitude().degrees - origin.longitude().degrees;
    constexpr double half_turn = 180;
    east -= 2 * half_turn * std::round(east / (2 * half_turn));
    return {
        east * radians * std::cos(origin.latitude().degrees * radians) * earth_mean_radius.value(),
        (point.latitude().degrees - origin.latitude().degrees) * radians *
            earth_mean_radius.value()};
}

/// From the origin to the line between two points.
double distance_to(const Flat& from, const Flat& to) {
    const double east = to.east - from.east;
    const double north = to.north - from.north;
    const double length = east * east + north * north;
    const double along =
        length == 0 ? 0 : std::clamp(-(from.east * east + from.north * north) / length, 0.0, 1.0);
    return std::hypot(from.east + along * east, from.north + along * north);
}

GeoPoint middle(const GeoPoint& one, const GeoPoint& other) {
    return {Latitude{(one.latitude().degrees + other.latitude().degrees) / 2},
            Longitude{(one.longitude().degrees + other.longitude().degrees) / 2}};
}

}  // namespace

bool runs_along(const std::vector<GeoPoint>& line, const routing::RoadNetwork& network,
                const std::vector<routing::PieceId>& pieces) {
    for (const routing::PieceId piece : pieces) {
        const auto shape = network.shape_of(network.piece(piece));
        for (std::size_t i = 1; i < line.size(); ++i) {
            const GeoPoint origin = middle(line[i - 1], line[i]);
            for (std::size_t at = 1; at < shape.size(); ++at) {
                const Flat from = flat(routing::to_geo_point(shape[at - 1]), origin);
                const Flat to = flat(routing::to_geo_point(shape[at]), origin);
                if (distance_to(from, to) < near_m) {
                    return true;
                }
            }
        }
    }
    return false;
}

}  // namespace waybourne::server
