#include "maps-sample/generator/road_map.hpp"

#include <algorithm>
#include <queue>

#include "maps-sample/generator/waters.hpp"

namespace waybourne::sample {

namespace {

/// Roads that do not meet keep this far apart.
constexpr double apart_km = 0.02;

/// A line between two places that bends as a river bank or a hillside makes a road bend: midpoints
/// are moved aside, by less at each halving (Fournier, Fussell, Carpenter, CACM 25, 1982, 371-384).
void bend(Line& line, Point from, Point to, double crookedness, double spacing_km, Random& random) {
    const double span = distance(from, to);
    if (span <= spacing_km) {
        line.push_back(to);
        return;
    }
    const Point aside = left_of(from, to) * (span * crookedness * random.between(-1, 1));
    const Point middle = (from + to) * 0.5 + aside;
    bend(line, from, middle, crookedness, spacing_km, random);
    bend(line, middle, to, crookedness, spacing_km, random);
}

}  // namespace

std::size_t RoadMap::node_at(Point place) {
    const auto found = std::find(nodes_.begin(), nodes_.end(), place);
    if (found != nodes_.end()) {
        return static_cast<std::size_t>(found - nodes_.begin());
    }
    nodes_.push_back(place);
    return nodes_.size() - 1;
}

bool RoadMap::is_free(Point from, Point to) const {
    if (touches_water(from, to)) {
        return false;
    }
    for (const Road& road : roads_) {
        for (std::size_t i = 1; i < road.nodes.size(); ++i) {
            const Point a = nodes_[road.nodes[i - 1]];
            const Point b = nodes_[road.nodes[i]];
            if (are_clear(from, to, a, b, apart_km)) {
                continue;
            }
            const bool is_joined = a == from || a == to || b == from || b == to;
            if (is_joined ? crossing_share(from, to, a, b) > 1e-6 &&
                                crossing_share(from, to, a, b) < 1 - 1e-6
                          : distance_between_segments(from, to, a, b) < apart_km) {
                return false;
            }
        }
    }
    return true;
}

bool RoadMap::is_free(const Line& line) const {
    for (std::size_t i = 1; i < line.size(); ++i) {
        if (!is_free(line[i - 1], line[i])) {
            return false;
        }
    }
    return true;
}

Line RoadMap::crooked_line(Point from, Point to, const RoadStyle& style) {
    double crookedness = style.crookedness;
    for (int attempt = 0; attempt < 12; ++attempt) {
        Line line{from};
        bend(line, from, to, crookedness, style.spacing_km, random_);
        if (is_free(line)) {
            return line;
        }
        crookedness *= attempt % 3 == 2 ? 0.6 : 1;
    }
    Line straight{from};
    bend(straight, from, to, 0, style.spacing_km, random_);
    return straight;
}

std::size_t RoadMap::draw(std::size_t from, std::size_t to, const RoadStyle& style,
                          const std::string& name) {
    Road road{.name = name, .style = style, .nodes = {from}, .tags = {}};
    const Line line = crooked_line(nodes_[from], nodes_[to], style);
    for (std::size_t i = 1; i + 1 < line.size(); ++i) {
        nodes_.push_back(line[i]);
        road.nodes.push_back(nodes_.size() - 1);
    }
    road.nodes.push_back(to);
    roads_.push_back(std::move(road));
    return roads_.size() - 1;
}

std::size_t RoadMap::draw_across(std::size_t from, std::size_t to, Crossing crossing,
                                 const std::pair<RoadStyle, RoadStyle>& styles,
                                 const std::string& name) {
    const auto [near_bank, far_bank] = banks_between(nodes_[from], nodes_[to]);
    const std::size_t near = node_at(near_bank);
    const std::size_t far = node_at(far_bank);
    Road over{.name = name, .style = styles.first, .nodes = {near, far}, .tags = {}};
    switch (crossing) {
        case Crossing::bridge:
            over.tags = {{"bridge", "yes"}, {"layer", "1"}};
            break;
        case Crossing::ford:
            over.tags = {{"ford", "yes"}, {"seasonal", "yes"}};
            break;
        case Crossing::ferry:
            over.style = {};
            over.tags = {{"route", "ferry"}};
            break;
    }
    roads_.push_back(std::move(over));
    const std::size_t number = roads_.size() - 1;
    draw(from, near, styles.first, name);
    draw(far, to, styles.second, name);
    return number;
}

void RoadMap::put_ford(std::size_t road) {
    const Road whole = roads_[road];
    const auto middle = static_cast<std::ptrdiff_t>(whole.nodes.size() / 2);
    Road before = whole;
    before.nodes.assign(whole.nodes.begin(), whole.nodes.begin() + middle);
    Road ford = whole;
    ford.nodes.assign(whole.nodes.begin() + middle - 1, whole.nodes.begin() + middle + 1);
    ford.tags.emplace_back("ford", "yes");
    ford.tags.emplace_back("seasonal", "yes");
    Road after = whole;
    after.nodes.assign(whole.nodes.begin() + middle, whole.nodes.end());
    roads_[road] = std::move(ford);
    for (Road& part : std::vector<Road>{before, after}) {
        if (part.nodes.size() > 1) {
            roads_.push_back(part);
        }
    }
}

std::vector<double> RoadMap::distances(std::size_t from, bool when_wet) const {
    std::vector<std::vector<std::pair<std::size_t, double>>> next(nodes_.size());
    for (const Road& road : roads_) {
        const bool is_ford =
            std::find(road.tags.begin(), road.tags.end(), Tag{"ford", "yes"}) != road.tags.end();
        if (when_wet && is_ford) {
            continue;
        }
        for (std::size_t i = 1; i < road.nodes.size(); ++i) {
            const std::size_t a = road.nodes[i - 1];
            const std::size_t b = road.nodes[i];
            const double step = distance(nodes_[a], nodes_[b]);
            next[a].emplace_back(b, step);
            next[b].emplace_back(a, step);
        }
    }
    std::vector<double> reached(nodes_.size(), no_way_km);
    using Entry = std::pair<double, std::size_t>;
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> open;
    reached[from] = 0;
    open.emplace(0.0, from);
    while (!open.empty()) {
        const auto [far, node] = open.top();
        open.pop();
        if (far > reached[node]) {
            continue;
        }
        for (const auto& [other, step] : next[node]) {
            if (far + step < reached[other]) {
                reached[other] = far + step;
                open.emplace(far + step, other);
            }
        }
    }
    return reached;
}

}  // namespace waybourne::sample
