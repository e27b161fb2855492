#include "routing/snap.hpp"

#include <algorithm>
#include <array>
#include <boost/geometry.hpp>
#include <boost/geometry/geometries/point.hpp>
#include <boost/geometry/geometries/segment.hpp>
#include <boost/geometry/index/rtree.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "routing/metric.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

namespace geometry = boost::geometry;

/// On the sphere of the earth's mean radius, in cm from its centre. In space there is no 180°
/// meridian and no pole: nothing needs to be rolled up. A chord of 1 km runs 2 cm below the ground.
using SpacePoint = geometry::model::point<double, 3, geometry::cs::cartesian>;

constexpr double radians_per_degree = std::numbers::pi / 180;
constexpr double radius_cm = earth_mean_radius.value() * 100;

SpacePoint to_space(const GeoPoint& point) {
    const double latitude = point.latitude().degrees * radians_per_degree;
    const double longitude = point.longitude().degrees * radians_per_degree;
    return {radius_cm * std::cos(latitude) * std::cos(longitude),
            radius_cm * std::cos(latitude) * std::sin(longitude), radius_cm * std::sin(latitude)};
}

GeoPoint to_ground(const SpacePoint& point) {
    const double x = point.get<0>();
    const double y = point.get<1>();
    const double z = point.get<2>();
    return {Latitude{std::atan2(z, std::hypot(x, y)) / radians_per_degree},
            Longitude{std::atan2(y, x) / radians_per_degree}};
}

/// The same, rounded: the whole radius in cm fits 32 bits with room to spare. What the index looks
/// at is half as long then, and looking at it is mostly waiting for memory.
using StoredPoint = geometry::model::point<std::int32_t, 3, geometry::cs::cartesian>;
using StoredSegment = geometry::model::segment<StoredPoint>;

StoredPoint rounded(const SpacePoint& point) {
    return {static_cast<std::int32_t>(std::lround(point.get<0>())),
            static_cast<std::int32_t>(std::lround(point.get<1>())),
            static_cast<std::int32_t>(std::lround(point.get<2>()))};
}

StoredPoint stored(FixedPoint point) {
    return rounded(to_space(to_geo_point(point)));
}

SpacePoint to_space(const StoredPoint& point) {
    return {static_cast<double>(point.get<0>()), static_cast<double>(point.get<1>()),
            static_cast<double>(point.get<2>())};
}

/// One straight segment of a road's shape.
struct Segment {
    StoredPoint from{};
    StoredPoint to{};
    PieceId piece;
    /// Counted from the piece's `from`.
    std::uint32_t place = 0;
};

struct SegmentShape {
    using result_type = StoredSegment;
    result_type operator()(const Segment& segment) const { return {segment.from, segment.to}; }
};

/// The point of the segment nearest to `point`, as a share of its length.
double nearest_share(const SpacePoint& point, const Segment& segment) {
    const SpacePoint from = to_space(segment.from);
    SpacePoint along = to_space(segment.to);
    geometry::subtract_point(along, from);
    SpacePoint off = point;
    geometry::subtract_point(off, from);
    const double length_squared = geometry::dot_product(along, along);
    return length_squared == 0
               ? 0
               : std::clamp(geometry::dot_product(off, along) / length_squared, 0.0, 1.0);
}

std::uint32_t along_piece(const RoadNetwork& network, const Segment& segment, double share) {
    const Piece& piece = network.piece(segment.piece);
    const auto shape = network.shape_of(piece);
    double before = 0;
    double whole = 0;
    for (std::size_t i = 0; i + 1 < shape.size(); ++i) {
        const double length =
            great_circle_distance(to_geo_point(shape[i]), to_geo_point(shape[i + 1])).value();
        whole += length;
        before += i < segment.place ? length : i == segment.place ? length * share : 0;
    }
    const double along = whole == 0 ? 0 : before / whole * piece.length_cm;
    return std::min(static_cast<std::uint32_t>(std::lround(along)), piece.length_cm);
}

std::vector<Segment> segments_of(const RoadNetwork& network) {
    const auto& points = network.arrays().node_points;
    std::vector<StoredPoint> nodes(points.size());
    std::transform(points.begin(), points.end(), nodes.begin(), stored);
    std::vector<Segment> segments;
    segments.reserve(network.piece_count() + network.arrays().shape_points.size());
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const PieceId id{number};
        const Piece& piece = network.piece(id);
        if (piece.is_ferry() || network.original(id) != id) {
            continue;
        }
        StoredPoint from = nodes[piece.from.value];
        std::uint32_t place = 0;
        for (const FixedPoint point : network.inner_points(piece)) {
            const StoredPoint to = stored(point);
            segments.push_back({from, to, id, place++});
            from = to;
        }
        segments.push_back({from, nodes[piece.to.value], id, place});
    }
    return segments;
}

}  // namespace

struct SnapIndex::Tree {
    geometry::index::rtree<Segment, geometry::index::rstar<8>, SegmentShape> segments;
};

SnapIndex::SnapIndex(std::shared_ptr<const RoadNetwork> network) : network_(std::move(network)) {
    tree_ = std::make_unique<const Tree>(Tree{decltype(Tree::segments)(segments_of(*network_))});
    for (const ComponentId component : network_->arrays().node_components) {
        if (component.value >= component_sizes_.size()) {
            component_sizes_.resize(component.value + std::size_t{1});
        }
        ++component_sizes_[component.value];
    }
}

SnapIndex::~SnapIndex() = default;
SnapIndex::SnapIndex(SnapIndex&&) noexcept = default;
SnapIndex& SnapIndex::operator=(SnapIndex&&) noexcept = default;

bool SnapIndex::is_any_usable(PieceId original,
                              const std::function<bool(const Piece&)>& is_usable) const {
    const auto copies = network_->copies(original);
    return is_usable(network_->piece(original)) ||
           std::any_of(copies.begin(), copies.end(), [&](const PieceCopy& pair) {
               return is_usable(network_->piece(pair.copy));
           });
}

std::optional<Access> SnapIndex::nearest(const GeoPoint& point,
                                         const std::function<bool(const Piece&)>& is_usable) const {
    const SpacePoint here = to_space(point);
    // looked up only for those nearer than all before: the roads lie about in memory
    double least = std::numeric_limits<double>::infinity();
    const auto usable = geometry::index::satisfies([&](const Segment& segment) {
        const double off = geometry::comparable_distance(here, SegmentShape{}(segment));
        if (off > least || !is_any_usable(segment.piece, is_usable)) {
            return false;
        }
        least = off;
        return true;
    });
    Segment found;
    if (tree_->segments.query(geometry::index::nearest(here, 1) && usable, &found) == 0) {
        return std::nullopt;
    }
    const double share = nearest_share(here, found);
    SpacePoint on_road = to_space(found.to);
    geometry::subtract_point(on_road, to_space(found.from));
    geometry::multiply_value(on_road, share);
    geometry::add_point(on_road, to_space(found.from));
    const GeoPoint ground = to_ground(on_road);
    return Access{.piece = found.piece,
                  .along_cm = along_piece(*network_, found, share),
                  .on_road = ground,
                  .off_road = great_circle_distance(point, ground)};
}

std::optional<Snap> SnapIndex::snap(const GeoPoint& point, const Metric& metric,
                                    const SnapSettings& settings) const {
    return snap(
        point, [&](const Piece& piece) { return metric.is_open(piece); }, settings);
}

std::optional<Snap> SnapIndex::snap(const GeoPoint& point,
                                    const std::function<bool(const Piece&)>& is_usable,
                                    const SnapSettings& settings) const {
    const auto first = nearest(point, is_usable);
    if (!first || first->off_road > settings.limit) {
        return std::nullopt;
    }
    Snap snap{.point = point, .accesses = {*first}};
    const ComponentId component = network_->component(network_->piece(first->piece).from);
    if (component.value != 0 && component_sizes_[component.value] < settings.fewest_nodes) {
        const auto other = nearest(point, [&](const Piece& piece) {
            return network_->component(piece.from).value == 0 &&
                   network_->component(piece.to).value == 0 && is_usable(piece);
        });
        const Metres most = std::min(settings.limit, first->off_road + settings.detour_to_largest);
        if (other && other->off_road <= most) {
            snap.accesses.push_back(*other);
        }
    }
    return snap;
}

void check_snap(const RoadNetwork& network, const Snap& snap) {
    for (const Access& access : snap.accesses) {
        if (access.piece.value >= network.piece_count() ||
            access.along_cm > network.piece(access.piece).length_cm) {
            throw InputError("a place was snapped to another network than this one");
        }
    }
}

}  // namespace waybourne::routing
