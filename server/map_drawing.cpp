#include "server/map_drawing.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>

namespace waybourne::server {

namespace {

using routing::FixedPoint;
using routing::Piece;
using routing::RoadClass;

/// From which zoom each layer is drawn. Ours, by eye: about as many lines in a square at each zoom.
constexpr std::array<std::uint32_t, 4> first_zoom{0, 8, 10, 12};

std::size_t layer_of(RoadClass road_class) {
    switch (road_class) {
        case RoadClass::motorway:
        case RoadClass::trunk:
        case RoadClass::primary:
        case RoadClass::ferry:
            return 0;
        case RoadClass::secondary:
            return 1;
        case RoadClass::tertiary:
            return 2;
        default:
            return 3;
    }
}

/// In squares of zoom 0: the world is 1 wide and high (Snyder, Map Projections, 1987, p. 41, on a
/// sphere; the grid of the web's maps ends at 85.0511 degrees).
struct WorldPoint {
    double x;
    double y;
};

WorldPoint to_world(FixedPoint point) {
    constexpr double units_in_degree = 1e7;
    constexpr double most_latitude = 85.0511;
    const double longitude = point.longitude / units_in_degree;
    const double latitude =
        std::clamp(point.latitude / units_in_degree, -most_latitude, most_latitude);
    const double radians = latitude * std::numbers::pi / 180;
    return {(longitude + 180) / 360, (1 - std::asinh(std::tan(radians)) / std::numbers::pi) / 2};
}

std::uint32_t grid_step(double world, std::uint32_t zoom) {
    const double side = std::ldexp(1.0, static_cast<int>(zoom));
    return static_cast<std::uint32_t>(std::clamp(world * side, 0.0, side - 1));
}

/// The bits of x and y in turns (Morton 1966): all small squares of a larger one stand together.
std::uint32_t morton(std::uint32_t x, std::uint32_t y) {
    std::uint32_t key = 0;
    for (std::uint32_t bit = 0; bit < 16; ++bit) {
        key |= ((x >> bit) & 1U) << (2 * bit);
        key |= ((y >> bit) & 1U) << (2 * bit + 1);
    }
    return key;
}

class Square {
public:
    explicit Square(const MapSquare& square)
        : side_(std::ldexp(1.0, static_cast<int>(square.zoom))), square_(square) {}

    SquarePoint place(FixedPoint point) const { return place(to_world(point)); }
    SquarePoint place(const WorldPoint& world) const {
        return {to_units(world.x * side_ - square_.x), to_units(world.y * side_ - square_.y)};
    }

private:
    static std::int32_t to_units(double squares) {
        return static_cast<std::int32_t>(std::lround(squares * square_units));
    }
    double side_;
    MapSquare square_;
};

/// Whether the box around the points touches the square.
bool touches(const std::vector<SquarePoint>& points) {
    const auto [west, east] =
        std::minmax_element(points.begin(), points.end(), [](auto a, auto b) { return a.x < b.x; });
    const auto [north, south] =
        std::minmax_element(points.begin(), points.end(), [](auto a, auto b) { return a.y < b.y; });
    return west->x <= square_units && east->x >= 0 && north->y <= square_units && south->y >= 0;
}

/// Shorter stretches of river, a few screen pixels, say nothing. Ours, by eye.
bool is_long_enough(const std::vector<SquarePoint>& points) {
    constexpr int shortest = 24;
    const auto is_far = [&](const SquarePoint& point) {
        return std::abs(point.x - points.front().x) >= shortest ||
               std::abs(point.y - points.front().y) >= shortest;
    };
    return std::any_of(points.begin(), points.end(), is_far);
}

/// Leaves out points that lie within half a screen pixel of the one before (a square is 256 wide).
void thin_out(std::vector<SquarePoint>& points) {
    constexpr int nearest = 2;
    std::size_t kept = 1;
    for (std::size_t i = 1; i < points.size(); ++i) {
        const SquarePoint before = points[kept - 1];
        const bool is_near = std::abs(points[i].x - before.x) < nearest &&
                             std::abs(points[i].y - before.y) < nearest;
        const bool is_last = i + 1 == points.size();
        if (is_near && is_last && kept > 1) {
            points[kept - 1] = points[i];
        } else if (!is_near || is_last) {
            points[kept++] = points[i];
        }
    }
    points.resize(kept);
}

std::optional<std::uint32_t> number(std::string_view text) {
    std::uint32_t value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    return error == std::errc{} && end == text.data() + text.size() ? std::optional(value)
                                                                    : std::nullopt;
}

}  // namespace

std::optional<MapSquare> find_square(std::string_view zoom, std::string_view x,
                                     std::string_view y) {
    const auto z = number(zoom);
    const auto column = number(x);
    const auto row = number(y);
    if (!z || !column || !row || *z < least_zoom || *z > most_zoom || *column >> *z != 0 ||
        *row >> *z != 0) {
        return std::nullopt;
    }
    return MapSquare{*z, *column, *row};
}

void MapDrawing::add_piece(std::uint32_t number) const {
    const Piece& piece = network_.pieces()[number];
    auto& layer = entries_.at(layer_of(network_.attributes_of(piece).kind.road_class));
    WorldPoint low{1, 1};
    WorldPoint high{0, 0};
    for (const FixedPoint point : network_.shape_of(piece)) {
        const WorldPoint world = to_world(point);
        low = {std::min(low.x, world.x), std::min(low.y, world.y)};
        high = {std::max(high.x, world.x), std::max(high.y, world.y)};
    }
    for (std::uint32_t x = grid_step(low.x, grid_zoom); x <= grid_step(high.x, grid_zoom); ++x) {
        for (std::uint32_t y = grid_step(low.y, grid_zoom); y <= grid_step(high.y, grid_zoom);
             ++y) {
            layer.push_back({morton(x, y), number});
        }
    }
}

void MapDrawing::box_rivers() const {
    for (const routing::River& river : rivers_) {
        Box box;
        for (const FixedPoint point : river.line) {
            const WorldPoint world = to_world(point);
            box = {std::min(box.west, world.x), std::min(box.north, world.y),
                   std::max(box.east, world.x), std::max(box.south, world.y)};
        }
        river_boxes_.push_back(box);
    }
}

void MapDrawing::sort_pieces() const {
    for (std::uint32_t piece = 0; piece < network_.piece_count(); ++piece) {
        // a copy made for a turn restriction lies where its original does
        if (network_.original(routing::PieceId{piece}).value == piece) {
            add_piece(piece);
        }
    }
    for (auto& layer : entries_) {
        layer.shrink_to_fit();
        std::sort(layer.begin(), layer.end(), [](const Entry& one, const Entry& other) {
            return std::pair{one.key, one.piece} < std::pair{other.key, other.piece};
        });
    }
}

std::vector<std::uint32_t> MapDrawing::pieces_in(const MapSquare& square, std::size_t layer) const {
    std::uint32_t first = 0;
    std::uint32_t count = 1;
    if (square.zoom >= grid_zoom) {
        const std::uint32_t finer = square.zoom - grid_zoom;
        first = morton(square.x >> finer, square.y >> finer);
    } else {
        const std::uint32_t coarser = grid_zoom - square.zoom;
        first = morton(square.x << coarser, square.y << coarser);
        count = 1U << (2 * coarser);
    }
    const auto& all = entries_.at(layer);
    const auto from =
        std::lower_bound(all.begin(), all.end(), first,
                         [](const Entry& e, std::uint32_t key) { return e.key < key; });
    std::vector<std::uint32_t> pieces;
    for (auto at = from; at != all.end() && at->key - first < count; ++at) {
        pieces.push_back(at->piece);
    }
    std::sort(pieces.begin(), pieces.end());
    pieces.erase(std::unique(pieces.begin(), pieces.end()), pieces.end());
    // the pieces of one road one after the other, so that they join into one line
    std::stable_sort(pieces.begin(), pieces.end(), [&](std::uint32_t one, std::uint32_t other) {
        return network_.pieces()[one].road < network_.pieces()[other].road;
    });
    return pieces;
}

/// A river runs through many squares: each gets the stretches that touch it.
void MapDrawing::add_rivers(const MapSquare& square, std::vector<MapLine>& drawn) const {
    const Square on{square};
    for (std::size_t number = 0; number < rivers_.size(); ++number) {
        const routing::River& river = rivers_[number];
        const Box& box = river_boxes_[number];
        if (!touches({on.place(WorldPoint{box.west, box.north}),
                      on.place(WorldPoint{box.east, box.south})})) {
            continue;
        }
        std::vector<SquarePoint> stretch;
        const auto finish = [&] {
            if (is_long_enough(stretch)) {
                drawn.push_back({river_class, river.name, stretch});
            }
            stretch.clear();
        };
        SquarePoint before = on.place(river.line.front());
        for (std::size_t i = 1; i < river.line.size(); ++i) {
            const SquarePoint after = on.place(river.line[i]);
            if (!touches({before, after})) {
                finish();
            } else {
                if (stretch.empty()) {
                    stretch.push_back(before);
                }
                stretch.push_back(after);
            }
            before = after;
        }
        finish();
    }
}

std::vector<MapLine> MapDrawing::lines(const MapSquare& square) const {
    std::call_once(sorted_, [this] {
        sort_pieces();
        box_rivers();
    });
    const Square on{square};
    std::vector<MapLine> drawn;
    add_rivers(square, drawn);
    for (std::size_t layer = layers; layer-- > 0;) {
        if (square.zoom < first_zoom.at(layer)) {
            continue;
        }
        routing::NodeId end = routing::NodeId::none();
        routing::RoadId road;
        for (const std::uint32_t number : pieces_in(square, layer)) {
            const Piece& piece = network_.pieces()[number];
            std::vector<SquarePoint> points;
            for (const FixedPoint point : network_.shape_of(piece)) {
                points.push_back(on.place(point));
            }
            if (!touches(points)) {
                continue;
            }
            const std::string_view line_class =
                to_name(network_.attributes_of(piece).kind.road_class);
            if (piece.road == road && piece.from == end && !drawn.empty() &&
                drawn.back().line_class == line_class) {
                auto& line = drawn.back().points;
                line.insert(line.end(), points.begin() + 1, points.end());
            } else {
                drawn.push_back({line_class, network_.name_of(piece), std::move(points)});
            }
            road = piece.road;
            end = piece.to;
        }
    }
    for (MapLine& line : drawn) {
        thin_out(line.points);
    }
    std::erase_if(drawn, [](const MapLine& line) {
        return line.points.size() < 2 ||
               (line.points.size() == 2 && line.points[0] == line.points[1]);
    });
    return drawn;
}

std::optional<MapBounds> MapDrawing::bounds() const {
    std::optional<MapBounds> all;
    for (std::uint32_t node = 0; node < network_.node_count(); ++node) {
        const FixedPoint at = network_.point(routing::NodeId{node});
        if (!all) {
            all = MapBounds{at, at};
        }
        all->low = {std::min(all->low.latitude, at.latitude),
                    std::min(all->low.longitude, at.longitude)};
        all->high = {std::max(all->high.latitude, at.latitude),
                     std::max(all->high.longitude, at.longitude)};
    }
    return all;
}

}  // namespace waybourne::server
