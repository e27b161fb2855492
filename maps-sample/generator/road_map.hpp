#pragma once
/// The roads as they grow: numbered nodes, and roads that share them where they meet.

#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "maps-sample/generator/plane.hpp"
#include "maps-sample/generator/random.hpp"

namespace waybourne::sample {

/// What a road is built like. The words are OpenStreetMap's; empty: not said.
struct RoadStyle {
    std::string highway;
    std::string surface;
    std::string tracktype;
    /// How crooked: 0 is straight, 0.3 a hill path.
    double crookedness = 0;
    /// Between two nodes of its shape.
    double spacing_km = 0.4;
};

using Tag = std::pair<std::string, std::string>;

struct Road {
    std::string name;
    RoadStyle style;
    std::vector<std::size_t> nodes;
    /// Beyond those of its style, e.g. `bridge=yes`.
    std::vector<Tag> tags;
    bool is_ferry() const { return style.highway.empty(); }
};

/// Farther than any way in the district.
inline constexpr double no_way_km = 1e9;

/// How a road gets over a river.
enum class Crossing { bridge, ford, ferry };

class RoadMap {
public:
    explicit RoadMap(std::uint64_t seed) : random_(seed) {}

    const std::vector<Point>& nodes() const { return nodes_; }
    const std::vector<Road>& roads() const { return roads_; }

    /// The node at this place; made when there is none.
    std::size_t node_at(Point place);

    /// A road of the style's crookedness from node to node that meets no water and no other road on
    /// the way, as crooked as that allows.
    /// @return its number
    std::size_t draw(std::size_t from, std::size_t to, const RoadStyle& style,
                     const std::string& name);

    /// A road with a river in its way: to the bank in the first style, over, and on in the second.
    /// @return the number of the road over the water
    std::size_t draw_across(std::size_t from, std::size_t to, Crossing crossing,
                            const std::pair<RoadStyle, RoadStyle>& styles, const std::string& name);

    /// Turns the middle piece of a road into a ford of a brook: a road of its own.
    void put_ford(std::size_t road);

    void add_tag(std::size_t road, Tag tag) { roads_[road].tags.push_back(std::move(tag)); }

    /// Whether a straight way between two places would meet a road or water, its two ends left out.
    bool is_free(Point from, Point to) const;

    /// Along the roads and ferries, in kilometres, from one node to all; fords are left out when it
    /// is wet. `no_way_km` where there is no way.
    std::vector<double> distances(std::size_t from, bool when_wet) const;

private:
    Line crooked_line(Point from, Point to, const RoadStyle& style);
    bool is_free(const Line& line) const;

    Random random_;
    std::vector<Point> nodes_;
    std::vector<Road> roads_;
};

}  // namespace waybourne::sample
