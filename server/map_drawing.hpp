#pragma once
/// The district's own map: its roads and rivers as lines, by square and scale, light enough for a
/// cheap phone.

#include <array>
#include <cstdint>
#include <mutex>
#include <optional>
#include <string_view>
#include <vector>

#include "routing/river.hpp"
#include "routing/road_network.hpp"

namespace waybourne::server {

/// One square of the web's common map grid (Web Mercator, EPSG:3857): at zoom z the world is 2^z by
/// 2^z squares, x from the west, y from the north.
struct MapSquare {
    std::uint32_t zoom = 0;
    std::uint32_t x = 0;
    std::uint32_t y = 0;
};

/// The scales at which the map is drawn: from a whole country to a village.
inline constexpr std::uint32_t least_zoom = 5;
inline constexpr std::uint32_t most_zoom = 16;

/// None where the numbers name no square of these scales.
std::optional<MapSquare> find_square(std::string_view zoom, std::string_view x, std::string_view y);

/// A position in a square, in 1/1024 of its side from its north-western corner; outside 0 to 1024
/// where a line goes on beyond.
struct SquarePoint {
    std::int32_t x = 0;
    std::int32_t y = 0;
    bool operator==(const SquarePoint&) const = default;
};
inline constexpr double square_units = 1024;

/// What a river's lines are called beside the classes of roads.
inline constexpr std::string_view river_class = "river";

/// A line of one kind of road, or of a river.
struct MapLine {
    /// A road class by its name, or `river_class`.
    std::string_view line_class;
    /// Empty for one without a name. Lives as long as the drawing.
    std::string_view name;
    std::vector<SquarePoint> points;
};

/// South-western and north-eastern corner.
struct MapBounds {
    routing::FixedPoint low;
    routing::FixedPoint high;
};

/// Draws the roads of one network, and rivers. Small roads and short stretches of river appear only
/// near to: what is drawn in one square stays readable, and small to send. May be used from several
/// threads.
class MapDrawing {
public:
    explicit MapDrawing(routing::RoadNetwork network, std::vector<routing::River> rivers = {})
        : network_(std::move(network)), rivers_(std::move(rivers)) {}
    MapDrawing(const MapDrawing&) = delete;
    MapDrawing& operator=(const MapDrawing&) = delete;

    /// The lines that touch the square, rivers first and larger roads last, so that these lie on
    /// top. The first call sorts the pieces by place, O(pieces log pieces); after that O(what is
    /// drawn + rivers + points of those whose box touches the square).
    std::vector<MapLine> lines(const MapSquare& square) const;

    /// Around every node; none for a map without roads. O(nodes).
    std::optional<MapBounds> bounds() const;

private:
    /// A piece of road in a small square of zoom `grid_zoom`.
    struct Entry {
        std::uint32_t key;  ///< the small square in Morton order, so that larger ones are ranges
        std::uint32_t piece;
    };
    /// The classes that appear at the same zoom share a list.
    static constexpr std::size_t layers = 4;
    static constexpr std::uint32_t grid_zoom = 12;

    /// Corners in the world as the grid lays it out: 1 wide and high.
    struct Box {
        double west = 1;
        double north = 1;
        double east = 0;
        double south = 0;
    };

    void sort_pieces() const;
    void box_rivers() const;
    void add_piece(std::uint32_t piece) const;
    void add_rivers(const MapSquare& square, std::vector<MapLine>& drawn) const;
    std::vector<std::uint32_t> pieces_in(const MapSquare& square, std::size_t layer) const;

    routing::RoadNetwork network_;
    std::vector<routing::River> rivers_;
    mutable std::once_flag sorted_;
    mutable std::array<std::vector<Entry>, layers> entries_;
    mutable std::vector<Box> river_boxes_;
};

}  // namespace waybourne::server
