#include "server/map_drawing.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <iterator>
#include <numeric>

#include "tests/server/served_sample.hpp"

// The grid: Web Mercator squares, from memory of the common practice of the web's maps (EPSG:3857);
// at 0° north, 0° east the four squares of every zoom meet. The sample lies around there.

namespace waybourne::server::test {

namespace {

const MapDrawing& drawing() {
    return *sample_snapshot()->drawing;
}

std::size_t points_of(const std::vector<MapLine>& lines) {
    return std::accumulate(lines.begin(), lines.end(), std::size_t{0},
                           [](std::size_t sum, const auto& l) { return sum + l.points.size(); });
}

bool has(const std::vector<MapLine>& lines, std::string_view line_class) {
    return std::any_of(lines.begin(), lines.end(),
                       [&](const MapLine& line) { return line.line_class == line_class; });
}

/// A map with one road far away, and this river.
MapDrawing drawing_of_river(std::vector<GeoPoint> line) {
    routing::River river{"Ishuvel", {}};
    for (const GeoPoint& point : line) {
        river.line.push_back(routing::to_fixed(point));
    }
    return MapDrawing{sample_snapshot()->roads->network(), {river}};
}

std::vector<MapLine> rivers_in(const std::vector<MapLine>& lines) {
    std::vector<MapLine> rivers;
    std::copy_if(lines.begin(), lines.end(), std::back_inserter(rivers),
                 [](const MapLine& line) { return line.line_class == river_class; });
    return rivers;
}

GeoPoint at(double latitude, double longitude) {
    return {Latitude{latitude}, Longitude{longitude}};
}

}  // namespace

TEST_CASE("From afar the map shows the main roads, from near by the tracks too") {
    std::size_t trunks = 0;
    for (std::uint32_t x = 127; x < 129; ++x) {
        for (std::uint32_t y = 127; y < 129; ++y) {
            const auto far = drawing().lines({8, x, y});
            trunks += has(far, "trunk") ? 1 : 0;
            CHECK_FALSE(has(far, "track"));
        }
    }
    CHECK(trunks > 0);
    std::size_t tracks = 0;
    for (std::uint32_t x = 2046; x < 2050; ++x) {
        for (std::uint32_t y = 2046; y < 2050; ++y) {
            tracks += has(drawing().lines({12, x, y}), "track") ? 1 : 0;
        }
    }
    CHECK(tracks > 0);
}

TEST_CASE("What a cheap phone is sent for one square stays small") {
    for (const MapSquare square : {MapSquare{6, 32, 32}, MapSquare{8, 128, 127},
                                   MapSquare{10, 512, 512}, MapSquare{12, 2048, 2048}}) {
        CAPTURE(square.zoom);
        CHECK(points_of(drawing().lines(square)) < 4000);
    }
}

TEST_CASE("A road crosses from one square into the next without a gap") {
    // The trunk road crosses the meridian of Greenwich: in both squares there is a line that lies
    // on either side of the border.
    const auto west = drawing().lines({9, 255, 255});
    const auto crosses = [](const std::vector<MapLine>& lines, std::int32_t border) {
        return std::any_of(lines.begin(), lines.end(), [&](const MapLine& line) {
            const auto [low, high] =
                std::minmax_element(line.points.begin(), line.points.end(),
                                    [](SquarePoint a, SquarePoint b) { return a.x < b.x; });
            return low->x < border && high->x > border;
        });
    };
    const bool north = crosses(west, 1024) && crosses(drawing().lines({9, 256, 255}), 0);
    const bool south =
        crosses(drawing().lines({9, 255, 256}), 1024) && crosses(drawing().lines({9, 256, 256}), 0);
    CHECK((north || south));
}

TEST_CASE("The sample's rivers are drawn at every scale, below the roads") {
    for (const std::uint32_t zoom : {6U, 8U, 10U, 12U}) {
        CAPTURE(zoom);
        std::size_t squares_with_water = 0;
        const std::uint32_t middle = 1U << (zoom - 1);
        const std::uint32_t around = zoom == 12 ? 8 : 1;
        for (std::uint32_t x = middle - around; x < middle + around; ++x) {
            for (std::uint32_t y = middle - around; y < middle + around; ++y) {
                const auto lines = drawing().lines({zoom, x, y});
                squares_with_water += has(lines, river_class) ? 1 : 0;
                const bool is_below = std::is_partitioned(
                    lines.begin(), lines.end(),
                    [](const MapLine& line) { return line.line_class == river_class; });
                CHECK(is_below);
            }
        }
        CHECK(squares_with_water > 0);
    }
}

TEST_CASE("A river is cut to the square, and goes on in the next one") {
    // From west to east through all squares of zoom 9 on both sides of 0° (a side is 0.703125°).
    std::vector<GeoPoint> line;
    for (int step = -200; step <= 200; ++step) {
        line.push_back(at(0.3, step * 0.01));
    }
    const MapDrawing map = drawing_of_river(line);
    const auto west = rivers_in(map.lines({9, 255, 255}));
    const auto east = rivers_in(map.lines({9, 256, 255}));
    REQUIRE(west.size() == 1);
    REQUIRE(east.size() == 1);
    CHECK(west[0].name == "Ishuvel");
    CHECK(west[0].points.back().x >= 1024);
    CHECK(east[0].points.front().x <= 0);
    // about 71 of the 401 points: those in the square and one on either side
    CHECK(west[0].points.size() < 75);
    CHECK(west[0].points.size() > 65);
    CHECK(rivers_in(map.lines({9, 255, 256})).empty());
}

TEST_CASE("A stretch of river of a few pixels is left out from afar") {
    const MapDrawing map = drawing_of_river({at(0.3, 0.3), at(0.301, 0.301)});
    CHECK(rivers_in(map.lines({8, 128, 127})).empty());
    // 0.001° is a twentieth of a square's side at zoom 14 (0.022°)
    CHECK(rivers_in(map.lines({14, 8205, 8178})).size() == 1);
}

TEST_CASE("A square far away is empty, and one that does not exist is none") {
    CHECK(drawing().lines({12, 0, 0}).empty());
    CHECK(find_square("12", "2048", "2047").has_value());
    for (const auto& one :
         {std::array{"4", "0", "0"}, std::array{"17", "0", "0"}, std::array{"12", "4096", "0"},
          std::array{"12", "0", "4096"}, std::array{"12", "-1", "0"}, std::array{"12", "1.5", "0"},
          std::array{"", "0", "0"}}) {
        CAPTURE(one[0]);
        CAPTURE(one[1]);
        CHECK_FALSE(find_square(one[0], one[1], one[2]).has_value());
    }
}

TEST_CASE("The map lies where the district does") {
    const auto bounds = drawing().bounds();
    REQUIRE(bounds.has_value());
    // 90 km from west to east (maps-sample/README.md); a degree at the equator is about 111 km
    const double degrees = (bounds->high.longitude - bounds->low.longitude) / 1e7;
    CHECK(degrees > 0.5);
    CHECK(degrees < 0.9);
}

}  // namespace waybourne::server::test
