#include "server/report_pictures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "facilities/offered.hpp"

namespace waybourne::server {

namespace {

using coverage::AccessClass;

/// Places as points of a picture: equal scale both ways, north above.
class Picture {
public:
    static constexpr double width = 720;

    explicit Picture(const std::vector<GeoPoint>& points) {
        first_ = points.empty() ? GeoPoint{Latitude{0}, Longitude{0}} : points.front();
        squeeze_ = std::cos(first_.latitude().degrees * std::numbers::pi / 180);
        for (const GeoPoint& point : points) {
            const auto [x, y] = flat(point);
            left_ = std::min(left_, x);
            right_ = std::max(right_, x);
            top_ = std::max(top_, y);
            bottom_ = std::min(bottom_, y);
        }
        scale_ = (width - 2 * margin) / std::max({right_ - left_, 1e-6});
        height_ = (top_ - bottom_) * scale_ + 2 * margin;
    }
    double height() const { return height_; }
    std::pair<double, double> at(const GeoPoint& point) const {
        const auto [x, y] = flat(point);
        return {(x - left_) * scale_ + margin, (top_ - y) * scale_ + margin};
    }
    std::string line(const std::vector<GeoPoint>& points) const {
        std::string path;
        for (const GeoPoint& point : points) {
            const auto [x, y] = at(point);
            path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : " L", x, y);
        }
        return path;
    }

private:
    static constexpr double margin = 14;
    std::pair<double, double> flat(const GeoPoint& point) const {
        return {std::remainder(point.longitude().degrees - first_.longitude().degrees, 360.0) *
                    squeeze_,
                point.latitude().degrees};
    }
    GeoPoint first_{Latitude{0}, Longitude{0}};
    double squeeze_ = 1;
    double left_ = 1e9;
    double right_ = -1e9;
    double top_ = -1e9;
    double bottom_ = 1e9;
    double scale_ = 1;
    double height_ = 0;
};

/// Each class has a shape of its own.
std::string mark(AccessClass access, double x, double y, double size) {
    const std::string_view name = coverage::to_name(access);
    switch (access) {
        case AccessClass::in_time:
            return fmt::format(R"(<circle class="{}" cx="{:.1f}" cy="{:.1f}" r="{:.1f}"/>)", name,
                               x, y, size);
        case AccessClass::beyond:
            return fmt::format(
                R"(<rect class="{}" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>)", name,
                x - size, y - size, 2 * size, 2 * size);
        case AccessClass::no_route:
            return fmt::format(R"(<path class="{}" d="M{:.1f} {:.1f} l{:.1f} {:.1f} h{:.1f} z"/>)",
                               name, x, y - 1.3 * size, 1.3 * size, 2.3 * size, -2.6 * size);
        case AccessClass::unknown:
            break;
    }
    return fmt::format(R"(<path class="{}" d="M{:.1f} {:.1f} l{:.1f} {:.1f} l{:.1f} {:.1f} )"
                       R"(l{:.1f} {:.1f} z"/>)",
                       name, x, y - 1.4 * size, 1.4 * size, 1.4 * size, -1.4 * size, 1.4 * size,
                       -1.4 * size, -1.4 * size);
}

std::string cross(double x, double y) {
    return fmt::format(R"(<path class="place" d="M{:.1f} {:.1f} h14 M{:.1f} {:.1f} v14"/>)", x - 7,
                       y, x, y - 7);
}

/// Main roads only: paths and tracks would hide the rest.
std::string roads_drawn(const routing::RoadNetwork& network, const Picture& picture) {
    std::string path;
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const routing::PieceId id{number};
        const routing::Piece& piece = network.piece(id);
        const auto road_class = network.attributes_of(piece).kind.road_class;
        if (network.original(id) != id || road_class > routing::RoadClass::unclassified) {
            continue;
        }
        path += picture.line(line_of(network, piece));
    }
    return R"(<path class="road" d=")" + path + R"("/>)";
}

/// Lines over a frame: x from 0 to 1, y from 0 to 1.
struct Series {
    const char* dashes;
    std::vector<std::pair<double, double>> points;
    std::string name;
};

std::string chart(const std::vector<Series>& lines, const std::vector<std::string>& below,
                  const std::string& label) {
    constexpr double left = 44;
    constexpr double top = 12;
    constexpr double wide = 500;
    constexpr double high = 190;
    std::string svg =
        fmt::format(R"(<svg role="img" aria-label="{}" viewBox="0 0 720 236">)", escaped(label));
    for (int tenth = 0; tenth <= 10; tenth += 2) {
        const double y = top + high * (1 - tenth / 10.0);
        svg += fmt::format(
            R"(<path class="road" d="M{} {:.1f} h{}"/><text x="{}" y="{:.1f}" text-anchor="end">{} %</text>)",
            left, y, wide, left - 6, y + 4, tenth * 10);
    }
    for (std::size_t i = 0; i < below.size(); ++i) {
        const double x = left + wide * static_cast<double>(i) /
                                    static_cast<double>(std::max<std::size_t>(1, below.size() - 1));
        svg += fmt::format(R"(<text x="{:.1f}" y="{}" text-anchor="middle">{}</text>)", x,
                           top + high + 18, escaped(below[i]));
    }
    double key_y = top + 10;
    for (const Series& series : lines) {
        std::string path;
        for (const auto& [x, y] : series.points) {
            path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : " L", left + wide * x,
                                top + high * (1 - y));
        }
        svg += fmt::format(
            R"(<path fill="none" stroke="#0b4a7a" stroke-width="2" stroke-dasharray="{}" d="{}"/>)",
            series.dashes, path);
        svg += fmt::format(
            R"(<path fill="none" stroke="#0b4a7a" stroke-width="2" stroke-dasharray="{}" d="M{} {} h24"/><text x="{}" y="{}">{}</text>)",
            series.dashes, left + wide + 8, key_y, left + wide + 38, key_y + 4,
            escaped(series.name));
        key_y += 20;
    }
    return svg + "</svg>";
}

}  // namespace

std::string map_of(const Snapshot& snapshot, const CoverageReport& report, const ReportPage& page) {
    std::vector<GeoPoint> points;
    for (const coverage::Settlement& settlement : report.access.settlements) {
        points.push_back(settlement.point);
    }
    for (const facilities::Facility& place : report.access.facilities.facilities()) {
        points.push_back(place.point);
    }
    const Picture picture(points);
    std::string svg =
        fmt::format(R"(<svg role="img" aria-label="{}" viewBox="0 0 {} {:.0f}">)",
                    escaped(page.words("map.label")), Picture::width, picture.height());
    svg += roads_drawn(snapshot.roads->network(), picture);
    constexpr std::size_t most_drawn = 10;
    for (std::size_t i = 0; i < std::min(most_drawn, report.links.links.size()); ++i) {
        for (const auto& line : report.links.links[i].lines) {
            svg += R"(<path class="worst" d=")" + picture.line(line) + R"("/>)";
        }
    }
    for (std::size_t i = 0; i < report.access.settlements.size(); ++i) {
        const coverage::Settlement& settlement = report.access.settlements[i];
        const auto [x, y] = picture.at(settlement.point);
        // the area grows with the births
        const double size = 2.5 + std::sqrt(std::max(0.0, settlement.births_per_year)) * 0.35;
        svg += "<g><title>" + escaped(settlement.name) + "</title>" +
               mark(report.access.accesses[i].access, x, y, size) + "</g>";
    }
    for (const facilities::Facility& place : report.access.facilities.facilities()) {
        if (facilities::offered_by(place).contains_all(
                report.request.upgrades.coverage.question.needed)) {
            const auto [x, y] = picture.at(place.point);
            svg += "<g><title>" + escaped(place.name) + "</title>" + cross(x, y) + "</g>";
        }
    }
    return svg + "</svg>";
}

std::string legend(const ReportPage& page) {
    std::string svg = R"(<svg viewBox="0 0 720 26">)";
    double x = 14;
    for (const AccessClass access :
         {AccessClass::in_time, AccessClass::beyond, AccessClass::no_route, AccessClass::unknown}) {
        svg += mark(access, x, 13, 5);
        const std::string text = page.words("class." + std::string(coverage::to_name(access)));
        svg += fmt::format(R"(<text x="{:.0f}" y="17">{}</text>)", x + 12, escaped(text));
        x += 150;
    }
    svg += cross(x, 13);
    svg += fmt::format(R"(<text x="{:.0f}" y="17">{}</text>)", x + 12,
                       escaped(page.words("class.place")));
    return svg + "</svg>";
}

std::string curve_of(const CoverageAnswer& access, const ReportPage& page) {
    std::vector<Series> lines{{"none", {}, page.words("curve.at_least")},
                              {"6 4", {}, page.words("curve.at_most")},
                              {"2 3", {}, page.words("curve.way_only")}};
    const double last =
        access.curve.empty() ? 1 : static_cast<double>(access.curve.back().standard.count());
    for (const coverage::CurvePoint& point : access.curve) {
        const double x = static_cast<double>(point.standard.count()) / last;
        lines[0].points.emplace_back(x, point.at_least);
        lines[1].points.emplace_back(x, point.at_most);
        lines[2].points.emplace_back(x, point.way_only);
    }
    return chart(lines, {"0", "1 h", "2 h", "3 h", "4 h", "5 h", "6 h"}, page.words("curve"));
}

std::string budget_curve(const UpgradeAnswer& upgrades, const ReportPage& page) {
    const double births = std::max(1.0, upgrades.before.total.births);
    Series line{"none", {{0, upgrades.before.total.in_time / births}}, page.words("budget.line")};
    std::vector<std::string> below{"0"};
    const double most = upgrades.curve.back().budget;
    for (const BudgetPoint& point : upgrades.curve) {
        line.points.emplace_back(point.budget / most,
                                 (upgrades.before.total.in_time + point.births_gained) / births);
    }
    for (int quarter = 1; quarter <= 4; ++quarter) {
        below.push_back(fmt::format("{:.6g}", most * quarter / 4));
    }
    return chart({line}, below, page.words("budget"));
}

std::string bars(const std::vector<Bar>& all, const std::string& label) {
    constexpr double left = 300;
    constexpr double wide = 300;
    constexpr double row = 22;
    constexpr double thick = 12;
    std::string svg = fmt::format(R"(<svg role="img" aria-label="{}" viewBox="0 0 720 {:.0f}">)",
                                  escaped(label), row * static_cast<double>(all.size()) + 6);
    double y = 4;
    for (const Bar& bar : all) {
        const auto part = [&](const char* kind, double share) {
            return fmt::format(
                R"(<rect class="{}" x="{:.0f}" y="{:.0f}" width="{:.1f}" height="{:.0f}"/>)", kind,
                left, y, wide * std::clamp(share, 0.0, 1.0), thick);
        };
        svg += fmt::format(R"(<text x="{:.0f}" y="{:.0f}" text-anchor="end">{}</text>)", left - 8,
                           y + 10, escaped(bar.name));
        svg += part("beyond", bar.longer) + part("in_time", bar.share);
        svg += fmt::format(R"(<text x="{:.0f}" y="{:.0f}">{}</text>)",
                           left + wide * std::clamp(std::max(bar.share, bar.longer), 0.0, 1.0) + 8,
                           y + 10, escaped(bar.figure));
        y += row;
    }
    return svg + "</svg>";
}

}  // namespace waybourne::server
