#pragma once
/// The district drawn on a flat sheet: kilometres east and north of its south-west corner.

#include <string>
#include <vector>

namespace waybourne::sample {

/// Kilometres east (x) and north (y) of the south-west corner. Only + - * / and the square root are
/// used on it, which IEEE 754 fixes to the last bit: the sine of one C library is not that of
/// another.
struct Point {
    double x = 0;
    double y = 0;
    bool operator==(const Point&) const = default;
    friend Point operator+(Point a, Point b) { return {a.x + b.x, a.y + b.y}; }
    friend Point operator-(Point a, Point b) { return {a.x - b.x, a.y - b.y}; }
    friend Point operator*(Point a, double factor) { return {a.x * factor, a.y * factor}; }
};

using Line = std::vector<Point>;

/// The sheet is 90 km wide and 80 km high.
inline constexpr double sheet_width_km = 90;
inline constexpr double sheet_height_km = 80;

double distance(Point a, Point b);
double length(const Line& line);

/// The quarter turn to the left of the unit vector from `a` to `b`.
Point left_of(Point a, Point b);

/// The place where the segments a-b and c-d cross, as the share of the way from a to b; negative
/// when they do not.
double crossing_share(Point a, Point b, Point c, Point d);

double distance_to_segment(Point point, Point a, Point b);
/// Whether the segments' upright rectangles are at least `margin` apart: a quick no.
bool are_clear(Point a, Point b, Point c, Point d, double margin);
/// The least distance between two segments; 0 where they cross.
double distance_between_segments(Point a, Point b, Point c, Point d);

/// Rounds the corners by cutting them three times (Chaikin, Computer Graphics and Image Processing
/// 3, 1974, 346-349); the ends stay.
Line smooth(const Line& corners);

/// Degrees with seven decimals (about a centimetre), as the files carry them. One degree is
/// 111.195 km both ways: the district straddles the equator.
std::string latitude_text(Point point);
std::string longitude_text(Point point);

}  // namespace waybourne::sample
