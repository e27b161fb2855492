#include "maps-sample/generator/plane.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

namespace waybourne::sample {

namespace {

constexpr double km_per_degree = 111.195;
constexpr double south_edge_degrees = -0.55;
constexpr double west_edge_degrees = -0.45;

std::string degrees_text(double degrees) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.7f", degrees);
    return text.data();
}

double cross_product(Point a, Point b) {
    return a.x * b.y - a.y * b.x;
}

}  // namespace

double distance(Point a, Point b) {
    const Point step = b - a;
    return std::sqrt(step.x * step.x + step.y * step.y);
}

double length(const Line& line) {
    double sum = 0;
    for (std::size_t i = 1; i < line.size(); ++i) {
        sum += distance(line[i - 1], line[i]);
    }
    return sum;
}

Point left_of(Point a, Point b) {
    const double span = distance(a, b);
    return {(a.y - b.y) / span, (b.x - a.x) / span};
}

double crossing_share(Point a, Point b, Point c, Point d) {
    const double parallel = cross_product(b - a, d - c);
    if (parallel == 0) {
        return -1;
    }
    const double along_first = cross_product(c - a, d - c) / parallel;
    const double along_second = cross_product(c - a, b - a) / parallel;
    const bool on_both =
        along_first >= 0 && along_first <= 1 && along_second >= 0 && along_second <= 1;
    return on_both ? along_first : -1;
}

double distance_to_segment(Point point, Point a, Point b) {
    const Point step = b - a;
    const double squared = step.x * step.x + step.y * step.y;
    if (squared == 0) {
        return distance(point, a);
    }
    const double share = ((point.x - a.x) * step.x + (point.y - a.y) * step.y) / squared;
    return distance(point, a + step * std::clamp(share, 0.0, 1.0));
}

bool are_clear(Point a, Point b, Point c, Point d, double margin) {
    return std::max(a.x, b.x) + margin <= std::min(c.x, d.x) ||
           std::max(c.x, d.x) + margin <= std::min(a.x, b.x) ||
           std::max(a.y, b.y) + margin <= std::min(c.y, d.y) ||
           std::max(c.y, d.y) + margin <= std::min(a.y, b.y);
}

double distance_between_segments(Point a, Point b, Point c, Point d) {
    if (crossing_share(a, b, c, d) >= 0) {
        return 0;
    }
    return std::min({distance_to_segment(a, c, d), distance_to_segment(b, c, d),
                     distance_to_segment(c, a, b), distance_to_segment(d, a, b)});
}

Line smooth(const Line& corners) {
    Line line = corners;
    for (int round = 0; round < 3; ++round) {
        Line rounded{line.front()};
        for (std::size_t i = 1; i < line.size(); ++i) {
            const Point step = line[i] - line[i - 1];
            rounded.push_back(line[i - 1] + step * 0.25);
            rounded.push_back(line[i - 1] + step * 0.75);
        }
        rounded.push_back(line.back());
        line = rounded;
    }
    return line;
}

std::string latitude_text(Point point) {
    return degrees_text(south_edge_degrees + point.y / km_per_degree);
}

std::string longitude_text(Point point) {
    return degrees_text(west_edge_degrees + point.x / km_per_degree);
}

}  // namespace waybourne::sample
