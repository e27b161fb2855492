#include "maps-sample/generator/map_picture.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <map>

#include "maps-sample/generator/facilities.hpp"
#include "maps-sample/generator/waters.hpp"

namespace waybourne::sample {

namespace {

constexpr double points_per_km = 10;

std::string number(double value) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.1f", value);
    return text.data();
}

std::string x_of(Point place) {
    return number(place.x * points_per_km);
}

std::string y_of(Point place) {
    return number((sheet_height_km - place.y) * points_per_km);
}

std::string points_of(const Line& line) {
    std::string text;
    for (const Point place : line) {
        text += (text.empty() ? "" : " ") + x_of(place) + "," + y_of(place);
    }
    return text;
}

std::string line_text(const Line& line, const std::string& kind) {
    return "<polyline class=\"" + kind + "\" points=\"" + points_of(line) + "\"/>\n";
}

/// How a road is drawn: the names of the styles in the picture's head.
std::string drawn_as(const Road& road) {
    if (road.is_ferry()) {
        return "ferry";
    }
    const bool is_ford = std::any_of(road.tags.begin(), road.tags.end(),
                                     [](const Tag& tag) { return tag.first == "ford"; });
    if (is_ford) {
        return "ford";
    }
    static const std::map<std::string, std::string> kinds = {
        {"trunk", "trunk"}, {"primary", "main"}, {"secondary", "main"}, {"tertiary", "middle"}};
    const auto found = kinds.find(road.style.highway);
    return found == kinds.end() ? "small" : found->second;
}

std::string roads_text(const RoadMap& map) {
    std::string text;
    for (const char* kind : {"small", "middle", "main", "trunk", "ferry", "ford"}) {
        for (const Road& road : map.roads()) {
            if (drawn_as(road) != kind) {
                continue;
            }
            Line line;
            for (const std::size_t node : road.nodes) {
                line.push_back(map.nodes()[node]);
            }
            text += line_text(line, kind);
        }
    }
    return text;
}

std::string place_text(const FacilityPlan& plan) {
    const bool is_hospital = plan.kind == "hospital";
    const double size = is_hospital ? 11 : (plan.kind == "health_centre" ? 8 : 5);
    const Point corner = plan.place + Point{-size / 2, size / 2} * (1 / points_per_km);
    std::string text = "<rect class=\"" + std::string{is_hospital ? "hospital" : "place"} +
                       "\" x=\"" + x_of(corner) + "\" y=\"" + y_of(corner) + "\" width=\"" +
                       number(size) + "\" height=\"" + number(size) + "\"><title>" + plan.name +
                       "</title></rect>\n";
    const Point beside = plan.place + Point{0.9, 0.5};
    text += "<text x=\"" + x_of(beside) + "\" y=\"" + y_of(beside) + "\">" +
            plan.name.substr(0, plan.name.find(' ')) + "</text>\n";
    return text;
}

}  // namespace

std::string to_svg(const RoadMap& map, const std::vector<Settlement>& settlements) {
    std::string text =
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 900 800\" role=\"img\">\n"
        "<title>The invented district of Oruvesh, 90 km wide and 80 km high</title>\n"
        "<style>polyline{fill:none;stroke-linejoin:round}"
        ".trunk{stroke:#4a4a55;stroke-width:3.2}.main{stroke:#6b6b76;stroke-width:2.2}"
        ".middle{stroke:#8f8f99;stroke-width:1.4}.small{stroke:#b4b4bc;stroke-width:.9}"
        ".ferry{stroke:#23395b;stroke-width:2.4;stroke-dasharray:3 2}"
        ".ford{stroke:#23395b;stroke-width:5}.water{fill:#c3d3e3}"
        ".village{fill:#8a7f76}.place{fill:#fff;stroke:#23395b;stroke-width:1.5}"
        ".hospital{fill:#23395b}text{font:11px sans-serif;fill:#222;"
        "paint-order:stroke;stroke:#f4f1ea;stroke-width:3px}</style>\n"
        "<rect width=\"900\" height=\"800\" fill=\"#f4f1ea\"/>\n";
    for (const River& river : rivers()) {
        text += R"(<polygon class="water" points=")" + points_of(outline(river)) + "\"/>\n";
    }
    text += roads_text(map);
    for (const Settlement& settlement : settlements) {
        text += R"(<circle class="village" cx=")" + x_of(settlement.place) + "\" cy=\"" +
                y_of(settlement.place) + "\" r=\"" + (settlement.kind == "town" ? "5" : "1.8") +
                "\"/>\n";
    }
    for (const FacilityPlan& plan : facility_plans()) {
        text += place_text(plan);
    }
    return text +
           "<text x=\"505\" y=\"250\" transform=\"rotate(72 505 250)\">Ishuvel</text>\n"
           "<text x=\"60\" y=\"325\">Tlamere</text>\n"
           "<text x=\"12\" y=\"788\">thick bars: fords; dashes: ferries; filled squares: "
           "hospitals; the sheet is 90 km wide</text>\n</svg>\n";
}

}  // namespace waybourne::sample
