#include "maps-sample/generator/write_osm.hpp"

#include "maps-sample/generator/waters.hpp"

namespace waybourne::sample {

namespace {

using Tags = std::vector<Tag>;

std::string tags_text(const Tags& tags) {
    std::string text;
    for (const auto& [key, value] : tags) {
        if (!value.empty()) {
            text.append("  <tag k=\"").append(key).append("\" v=\"").append(value).append("\"/>\n");
        }
    }
    return text;
}

Tags tags_of(const Road& road) {
    Tags tags;
    if (!road.is_ferry()) {
        tags = {{"highway", road.style.highway},
                {"name", road.name},
                {"surface", road.style.surface},
                {"tracktype", road.style.tracktype}};
    }
    tags.insert(tags.end(), road.tags.begin(), road.tags.end());
    return tags;
}

/// Numbers nodes and ways from 1 and keeps the two apart until the end.
class Writer {
public:
    std::size_t add_node(Point place, const Tags& tags) {
        ++nodes_written_;
        nodes_ += " <node id=\"" + std::to_string(nodes_written_) + "\" lat=\"" +
                  latitude_text(place) + "\" lon=\"" + longitude_text(place) + "\"";
        nodes_ += tags.empty() ? "/>\n" : ">\n" + tags_text(tags) + " </node>\n";
        return nodes_written_;
    }

    void add_way(const std::vector<std::size_t>& nodes, const Tags& tags) {
        ++ways_written_;
        ways_ += " <way id=\"" + std::to_string(ways_written_) + "\">\n";
        for (const std::size_t node : nodes) {
            ways_ += "  <nd ref=\"" + std::to_string(node) + "\"/>\n";
        }
        ways_ += tags_text(tags) + " </way>\n";
    }

    void add_line(const Line& line, const Tags& tags) {
        std::vector<std::size_t> nodes;
        const bool is_closed = line.front() == line.back();
        for (std::size_t i = 0; i + (is_closed ? 1 : 0) < line.size(); ++i) {
            nodes.push_back(add_node(line[i], {}));
        }
        if (is_closed) {
            nodes.push_back(nodes.front());
        }
        add_way(nodes, tags);
    }

    std::string text() const {
        return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
               "<!-- An invented district in the open ocean: no real road, river or place. -->\n"
               "<osm version=\"0.6\" generator=\"make_district\">\n" +
               nodes_ + ways_ + "</osm>\n";
    }

private:
    std::size_t nodes_written_ = 0;
    std::size_t ways_written_ = 0;
    std::string nodes_;
    std::string ways_;
};

}  // namespace

std::string to_osm(const RoadMap& map, const std::vector<Settlement>& settlements) {
    Writer writer;
    for (const Point place : map.nodes()) {
        writer.add_node(place, {});
    }
    for (const Road& road : map.roads()) {
        std::vector<std::size_t> nodes = road.nodes;
        for (std::size_t& node : nodes) {
            ++node;  // ids count from 1
        }
        writer.add_way(nodes, tags_of(road));
    }
    for (const Settlement& settlement : settlements) {
        writer.add_node(settlement.place, {{"place", settlement.kind}, {"name", settlement.name}});
    }
    for (const River& river : rivers()) {
        writer.add_line(river.centre, {{"waterway", "river"}, {"name", river.name}});
        writer.add_line(outline(river), {{"waterway", "riverbank"}});
    }
    return writer.text();
}

}  // namespace waybourne::sample
