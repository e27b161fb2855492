#include "routing/closure.hpp"

#include <algorithm>
#include <boost/geometry.hpp>
#include <boost/geometry/geometries/geometries.hpp>
#include <boost/geometry/geometries/point_xy.hpp>
#include <cmath>

#include "routing/network_builder.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

namespace geometry = boost::geometry;
using Point = geometry::model::d2::point_xy<double>;
using Line = geometry::model::linestring<Point>;
using Polygon = geometry::model::polygon<Point>;

/// Degrees, with the longitude moved by full turns to within half a turn of `middle`, so that the
/// 180° meridian cuts nothing in two.
Point unrolled(const GeoPoint& point, double middle) {
    return {middle + std::remainder(point.longitude().degrees - middle, 360.0),
            point.latitude().degrees};
}

std::vector<PieceId> pieces_in(const RoadNetwork& network, const Area& area) {
    if (area.ring.size() < 3) {
        throw InputError("an area needs three points or more");
    }
    const double middle = area.ring.front().longitude().degrees;
    Polygon polygon;
    for (const GeoPoint& point : area.ring) {
        polygon.outer().push_back(unrolled(point, middle));
    }
    geometry::correct(polygon);
    const auto bounds = geometry::return_envelope<geometry::model::box<Point>>(polygon);
    std::vector<PieceId> found;
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        Line line;
        // Each point near the one before, or a road on the far side of the globe would be torn in
        // two.
        double last = middle;
        for (const FixedPoint& point : network.shape_of(network.piece(PieceId{number}))) {
            line.push_back(unrolled(to_geo_point(point), last));
            last = line.back().x();
        }
        const auto around = geometry::return_envelope<geometry::model::box<Point>>(line);
        if (geometry::intersects(around, bounds) && geometry::intersects(line, polygon)) {
            found.push_back({number});
        }
    }
    return found;
}

bool is_same_name(std::string_view a, std::string_view b) {
    const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [&](char x, char y) { return lower(x) == lower(y); });
}

bool is_blank(std::string_view name) {
    return name.find_first_not_of(" \t\r\n") == std::string_view::npos;
}

template <typename Wanted>
std::vector<PieceId> pieces_where(const RoadNetwork& network, const Wanted& is_wanted) {
    std::vector<PieceId> found;
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        if (is_wanted(network.piece(PieceId{number}))) {
            found.push_back({number});
        }
    }
    return found;
}

/// None where no node is within reach.
NodeId nearest_node(const RoadNetwork& network, const GeoPoint& point, Metres reach) {
    NodeId nearest;
    for (std::uint32_t number = 0; number < network.node_count(); ++number) {
        const Metres distance =
            great_circle_distance(point, to_geo_point(network.point(NodeId{number})));
        if (distance <= reach && network.original(NodeId{number}) == NodeId{number}) {
            reach = distance;
            nearest = {number};
        }
    }
    return nearest;
}

/// What must be added again to a builder to get the piece anew.
NewPiece to_new_piece(const RoadNetwork& network, const Piece& piece) {
    const auto means = [&](ArcId arc) { return arc.exists() ? network.means(arc) : MeansSet{}; };
    NewPiece copy{.from = piece.from,
                  .to = piece.to,
                  .length = Metres{piece.length_cm / 100.0},
                  .attributes = network.attributes_of(piece),
                  .name = std::string(network.name_of(piece)),
                  .road = piece.road,
                  .shape = {},
                  .forward = means(piece.forward),
                  .backward = means(piece.backward),
                  .ferry = piece.is_ferry() ? std::optional(piece.ferry) : std::nullopt,
                  .copy_of = {}};
    const auto shape = network.shape_of(piece);
    for (std::size_t i = 1; i + 1 < shape.size(); ++i) {
        copy.shape.push_back(to_geo_point(shape[i]));
    }
    return copy;
}

NewPiece to_new_piece(const TemporaryLink& link, NodeId from, NodeId to) {
    RoadAttributes attributes;
    attributes.kind.road_class = RoadClass::unclassified;
    attributes.kind.surface = SurfaceClass::paved;
    attributes.kind.maxspeed_kmh = static_cast<std::uint8_t>(link.kilometres_per_hour);
    attributes.is_temporary_link = true;
    return {.from = from,
            .to = to,
            .length = std::nullopt,
            .attributes = attributes,
            .name = link.id,
            .road = {},
            .shape = {},
            .forward = link.means,
            .backward = link.means,
            .ferry = std::nullopt,
            .copy_of = {}};
}

/// The network once more, to be added to. Nodes keep their numbers.
NetworkBuilder to_builder(const RoadNetwork& network) {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    for (std::uint32_t number = 0; number < network.node_count(); ++number) {
        const NodeId original = network.original(NodeId{number});
        if (original.value == number) {
            builder.add_node(to_geo_point(network.point(original)));
        } else {
            builder.add_copy(original);
        }
    }
    for (const Ferry& ferry : network.ferries()) {
        builder.add_ferry(ferry);
    }
    std::vector<std::uint32_t> numbers(network.piece_count());
    for (std::uint32_t piece = 0; piece < network.piece_count(); ++piece) {
        if (network.original(PieceId{piece}) == PieceId{piece}) {
            numbers[piece] =
                builder.add_piece(to_new_piece(network, network.piece(PieceId{piece})));
        }
    }
    for (const PieceCopy& pair : network.arrays().piece_copies) {
        NewPiece copy = to_new_piece(network, network.piece(pair.copy));
        copy.copy_of = numbers[pair.original.value];
        builder.add_piece(copy);
    }
    return builder;
}

/// No turn restriction speaks of a link: it may be left from every copy of its ends, and whoever
/// has come along it is free.
void add_link(NetworkBuilder& builder, const RoadNetwork& network, const NewPiece& link) {
    NewPiece copy = link;
    copy.copy_of = builder.add_piece(link);
    copy.backward = MeansSet{};
    for (const NodeCopy& pair : network.copies(link.from)) {
        copy.from = pair.copy;
        builder.add_piece(copy);
    }
    copy.from = link.from;
    copy.forward = MeansSet{};
    copy.backward = link.backward;
    for (const NodeCopy& pair : network.copies(link.to)) {
        copy.to = pair.copy;
        builder.add_piece(copy);
    }
}

}  // namespace

std::vector<PieceId> pieces_at(const RoadNetwork& network, const Where& where) {
    if (const auto* area = std::get_if<Area>(&where)) {
        return pieces_in(network, *area);
    }
    if (const auto* name = std::get_if<RoadName>(&where)) {
        if (is_blank(name->name)) {
            return {};
        }
        return pieces_where(network, [&](const Piece& piece) {
            return is_same_name(network.name_of(piece), name->name);
        });
    }
    const RoadId road = std::get<RoadId>(where);
    return pieces_where(network, [&](const Piece& piece) { return piece.road == road; });
}

RoadNetwork with_links(const RoadNetwork& network, std::span<const TemporaryLink> links,
                       Metres reach) {
    NetworkBuilder builder = to_builder(network);
    std::vector<FieldError> errors;
    for (const TemporaryLink& link : links) {
        const NodeId from = nearest_node(network, link.from, reach);
        const NodeId to = nearest_node(network, link.to, reach);
        if (!(link.kilometres_per_hour >= 1 && link.kilometres_per_hour <= 140)) {
            errors.push_back({link.id, "its speed is outside 1 to 140 km/h"});
        } else if (!from.exists() || !to.exists()) {
            errors.push_back({link.id, "an end is farther than " +
                                           std::to_string(std::lround(reach.value())) +
                                           " m from any place where roads meet"});
        } else {
            add_link(builder, network, to_new_piece(link, from, to));
        }
    }
    if (!errors.empty()) {
        throw InputError("temporary links do not fit the network", errors);
    }
    return builder.build();
}

}  // namespace waybourne::routing
