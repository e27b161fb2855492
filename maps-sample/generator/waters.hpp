#pragma once
/// The two rivers, and what may not be built through them.

#include <string>
#include <utility>
#include <vector>

#include "maps-sample/generator/plane.hpp"

namespace waybourne::sample {

struct River {
    std::string name;
    /// From the source to the mouth.
    Line centre;
    double half_width_km = 0;
};

/// The Ishuvel (its two arms round the island are lines of their own) and the Tlamere, which falls
/// into it.
const std::vector<River>& rivers();

/// Whether the straight piece from `a` to `b` comes into water.
bool touches_water(Point a, Point b);
/// Whether any piece of the line does.
bool touches_water(const Line& line);
/// How far a place is from the nearest bank; negative in the water.
double distance_to_bank(Point place);

/// Where the straight way from `from` to `to` leaves one bank of the first river it meets and
/// reaches the other: the two places are dry, the way between them is not.
std::pair<Point, Point> banks_between(Point from, Point to);

/// The outline of the water: down along the left bank, back along the right one, closed.
Line outline(const River& river);

}  // namespace waybourne::sample
