#include "maps-sample/generator/waters.hpp"

#include <algorithm>
#include <stdexcept>

namespace waybourne::sample {

namespace {

/// Roads keep this far from the water, landings and bridge heads stand a little further out.
constexpr double road_clearance_km = 0.01;
constexpr double bank_clearance_km = 0.03;

std::vector<River> draw_rivers() {
    const Point parting{54, 17};
    const Point meeting{57, 3};
    return {
        {"Ishuvel",
         smooth({{50, 82},
                 {48, 66},
                 {51.5, 55},
                 {49, 46},
                 {52.5, 36},
                 {53.8, 29},
                 {51.5, 22},
                 parting}),
         0.35},
        {"Ishuvel", smooth({parting, {52.2, 15}, {52, 9.5}, {54.5, 5.5}, meeting}), 0.2},
        {"Ishuvel", smooth({parting, {58.5, 16}, {61, 10.5}, {59.5, 5}, meeting}), 0.25},
        {"Ishuvel", smooth({meeting, {57.5, 1}, {58, -2}}), 0.35},
        {"Tlamere",
         smooth({{-2, 45},
                 {6, 47},
                 {14, 44},
                 {23, 47.5},
                 {32, 43.5},
                 {41, 44.5},
                 {46, 43},
                 {49.9, 44.5}}),
         0.05},
    };
}

}  // namespace

const std::vector<River>& rivers() {
    static const std::vector<River> drawn = draw_rivers();
    return drawn;
}

bool touches_water(Point a, Point b) {
    for (const River& river : rivers()) {
        const double margin = river.half_width_km + road_clearance_km;
        for (std::size_t i = 1; i < river.centre.size(); ++i) {
            const Point c = river.centre[i - 1];
            const Point d = river.centre[i];
            if (!are_clear(a, b, c, d, margin) && distance_between_segments(a, b, c, d) < margin) {
                return true;
            }
        }
    }
    return false;
}

bool touches_water(const Line& line) {
    for (std::size_t i = 1; i < line.size(); ++i) {
        if (touches_water(line[i - 1], line[i])) {
            return true;
        }
    }
    return false;
}

double distance_to_bank(Point place) {
    double least = sheet_width_km;
    for (const River& river : rivers()) {
        for (std::size_t i = 1; i < river.centre.size(); ++i) {
            least =
                std::min(least, distance_to_segment(place, river.centre[i - 1], river.centre[i]) -
                                    river.half_width_km);
        }
    }
    return least;
}

std::pair<Point, Point> banks_between(Point from, Point to) {
    double share = 2;
    for (const River& river : rivers()) {
        for (std::size_t i = 1; i < river.centre.size(); ++i) {
            const double found = crossing_share(from, to, river.centre[i - 1], river.centre[i]);
            if (found >= 0) {
                share = std::min(share, found);
            }
        }
    }
    if (share > 1) {
        throw std::logic_error("no river between the two places");
    }
    const Point middle = from + (to - from) * share;
    const Point step = (to - from) * (0.01 / distance(from, to));
    Point near = middle;
    while (distance_to_bank(near) < bank_clearance_km) {
        near = near - step;
    }
    Point far = middle;
    while (distance_to_bank(far) < bank_clearance_km) {
        far = far + step;
    }
    return {near, far};
}

Line outline(const River& river) {
    const Line& centre = river.centre;
    Line left;
    Line right;
    for (std::size_t i = 0; i < centre.size(); ++i) {
        const Point before = centre[i == 0 ? 0 : i - 1];
        const Point after = centre[i + 1 == centre.size() ? i : i + 1];
        const Point across = left_of(before, after) * river.half_width_km;
        left.push_back(centre[i] + across);
        right.push_back(centre[i] - across);
    }
    left.insert(left.end(), right.rbegin(), right.rend());
    left.push_back(left.front());
    return left;
}

}  // namespace waybourne::sample
