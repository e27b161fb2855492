#include "tests/support/ascii_district.hpp"

#include <cctype>
#include <numbers>
#include <sstream>
#include <stdexcept>

#include "routing/network_builder.hpp"
#include "routing/reference_router.hpp"

namespace waybourne::tests {

using namespace routing;

namespace {

constexpr double kilometres_per_degree = earth_mean_radius.value() / 1000 * std::numbers::pi / 180;

constexpr MeansSet vehicles =
    MeansSet{}.with(Means::motorcycle).with(Means::car).with(Means::four_wheel_drive);

bool is_place(char c) {
    return std::isalpha(static_cast<unsigned char>(c)) != 0;
}

GeoPoint at_km(double east, double north) {
    return {Latitude{north / kilometres_per_degree}, Longitude{east / kilometres_per_degree}};
}

Timetable all_week(Seconds every) {
    std::vector<Sailing> sailings;
    for (Seconds at{}; at < std::chrono::days(7); at += every) {
        const auto minute = std::chrono::duration_cast<std::chrono::minutes>(at);
        sailings.push_back({minute, minute});
    }
    return {"Etc/UTC", sailings};
}

}  // namespace

AsciiDistrict::AsciiDistrict(std::string_view drawing) {
    std::vector<std::string> rows;
    std::istringstream lines{std::string(drawing)};
    std::size_t width = 0;
    for (std::string line; std::getline(lines, line);) {
        width = std::max(width, line.size());
        rows.push_back(line);
    }
    for (auto& row : rows) {
        row.resize(width, ' ');
    }
    for (std::size_t row = 0; row < rows.size(); ++row) {
        for (std::size_t column = 0; column < width; ++column) {
            if (is_place(rows[row][column]) &&
                !places_.emplace(rows[row][column], Place{column, row}).second) {
                throw std::logic_error("a letter is drawn twice");
            }
        }
    }
    for (std::size_t row = 0; row < rows.size(); ++row) {
        for (std::size_t column = 0; column < width; ++column) {
            if (is_place(rows[row][column])) {
                draw_along(rows, row, column, false);
                draw_along(rows, row, column, true);
            }
        }
    }
}

void AsciiDistrict::draw_along(const std::vector<std::string>& rows, std::size_t row,
                               std::size_t column, bool is_down) {
    const std::string_view strokes = is_down ? "|:" : "-~<>";
    const auto at = [&](std::size_t steps) {
        const std::size_t r = row + (is_down ? steps : 0);
        const std::size_t c = column + (is_down ? 0 : steps);
        return r < rows.size() && c < rows[r].size() ? rows[r][c] : ' ';
    };
    std::string line;
    while (strokes.find(at(line.size() + 1)) != std::string_view::npos) {
        line += at(line.size() + 1);
    }
    const char end = at(line.size() + 1);
    if (line.empty()) {
        return;
    }
    if (!is_place(end)) {
        throw std::logic_error("a drawn road ends nowhere");
    }
    const auto km = static_cast<double>(line.size() + 1);
    Road road{.from = at(0), .to = end, .km = km, .ferry = std::nullopt};
    road.goes_forward = line.find('<') == std::string::npos;
    road.goes_backward = line.find('>') == std::string::npos;
    if (line.find_first_of("~:") != std::string::npos) {
        road.ferry = Ferry{.crossing = Seconds{static_cast<std::int64_t>(km) * 60},
                           .timetable = std::nullopt,
                           .assumed_wait = {},
                           .sails_when_wet = true};
    }
    roads_.push_back(road);
}

AsciiDistrict::Road& AsciiDistrict::road(std::string_view name) {
    for (Road& road : roads_) {
        if (road.name() == name) {
            return road;
        }
    }
    throw std::logic_error("no road is drawn as " + std::string(name));
}

AsciiDistrict AsciiDistrict::ferry(std::string_view name, FerryTimes times) const {
    AsciiDistrict next = *this;
    Ferry& ferry = next.road(name).ferry.value();
    ferry.crossing = times.crosses;
    ferry.timetable = all_week(times.leaves_every);
    return next;
}

AsciiDistrict AsciiDistrict::sailings(std::string_view name, Seconds crosses,
                                      std::vector<Sailing> sailings) const {
    AsciiDistrict next = *this;
    Ferry& ferry = next.road(name).ferry.value();
    ferry.crossing = crosses;
    ferry.timetable = Timetable("Etc/UTC", std::move(sailings));
    return next;
}

AsciiDistrict AsciiDistrict::changed(std::string_view name, std::optional<double> slower_by,
                                     Period period) const {
    AsciiDistrict next = *this;
    next.changes_.push_back({.id = std::string(name),
                             .where = RoadName{next.road(name).name()},
                             .slower_by = slower_by,
                             .period = period,
                             .means = MeansSet::all(),
                             .reason = "as drawn"});
    return next;
}

AsciiDistrict AsciiDistrict::close(std::string_view name) const {
    return changed(name, std::nullopt, {});
}

AsciiDistrict AsciiDistrict::close(std::string_view name, Period period) const {
    return changed(name, std::nullopt, period);
}

AsciiDistrict AsciiDistrict::slow(std::string_view name, double slower_by) const {
    return changed(name, slower_by, {});
}

PieceDirection AsciiDistrict::part(char from, char to) const {
    for (std::uint32_t number = 0; number < roads_.size(); ++number) {
        const Road& road = roads_[number];
        if ((road.from == from && road.to == to) || (road.from == to && road.to == from)) {
            return {number, road.from == from};
        }
    }
    throw std::logic_error(std::string{"no road is drawn from "} + from + " to " + to);
}

std::vector<PieceDirection> AsciiDistrict::parts(std::string_view places) const {
    std::vector<PieceDirection> parts;
    for (std::size_t i = 1; i < places.size(); ++i) {
        parts.push_back(part(places[i - 1], places[i]));
    }
    return parts;
}

AsciiDistrict AsciiDistrict::forbid(std::string_view places) const {
    AsciiDistrict next = *this;
    next.forbidden_.push_back({parts(places), vehicles});
    return next;
}

AsciiDistrict AsciiDistrict::require(std::string_view places) const {
    AsciiDistrict next = *this;
    next.required_.push_back({parts(places), vehicles});
    return next;
}

AsciiDistrict AsciiDistrict::hours(std::string_view name, std::string_view opening_hours) const {
    AsciiDistrict next = changed(name, std::nullopt, {});
    next.changes_.back().hours = parse_timetable(opening_hours, "Etc/UTC").timetable;
    return next;
}

AsciiDistrict AsciiDistrict::ford(std::string_view name) const {
    AsciiDistrict next = *this;
    next.road(name).is_ford = true;
    return next;
}

AsciiDistrict AsciiDistrict::wet() const {
    AsciiDistrict next = *this;
    next.conditions_.surface = Surface::wet;
    return next;
}

AsciiDistrict AsciiDistrict::spread(Seconds spread) const {
    AsciiDistrict next = *this;
    next.spread_ = spread;
    return next;
}

AsciiDistrict AsciiDistrict::as_of(Instant at) const {
    AsciiDistrict next = *this;
    next.as_of_ = at;
    return next;
}

GeoPoint AsciiDistrict::point(char place) const {
    return beside(place, 0, 0);
}

GeoPoint AsciiDistrict::beside(char place, double east_km, double north_km) const {
    const Place& drawn = places_.at(place);
    return at_km(static_cast<double>(drawn.column) + east_km,
                 -static_cast<double>(drawn.row) + north_km);
}

NodeId AsciiDistrict::node(char place) const {
    return {static_cast<std::uint32_t>(std::distance(places_.begin(), places_.find(place)))};
}

std::shared_ptr<const RoadNetwork> AsciiDistrict::network() const {
    NetworkBuilder builder;
    builder.keep_node_order(true);
    for (const auto& [letter, place] : places_) {
        builder.add_node(point(letter));
    }
    for (const Road& road : roads_) {
        RoadAttributes attributes;
        attributes.kind.road_class = road.ferry ? RoadClass::ferry : RoadClass::secondary;
        attributes.is_ford = road.is_ford;
        builder.add_piece(
            {.from = node(road.from),
             .to = node(road.to),
             .length = Metres{road.km * 1000},
             .attributes = attributes,
             .name = road.name(),
             .road = {},
             .shape = {},
             .forward = road.goes_forward ? MeansSet::all() : MeansSet{},
             .backward = road.goes_backward ? MeansSet::all() : MeansSet{},
             .ferry = road.ferry ? std::optional(builder.add_ferry(*road.ferry)) : std::nullopt});
    }
    for (const ForbiddenWay& way : forbidden_) {
        builder.forbid(way);
    }
    for (const RequiredWay& way : required_) {
        builder.require(way);
    }
    return std::make_shared<const RoadNetwork>(builder.build());
}

std::shared_ptr<const Metric> AsciiDistrict::metric() const {
    const auto on_road = [this](const RoadAttributes& attributes) -> std::optional<RoadSpeed> {
        if (attributes.is_ford && conditions_.surface == Surface::wet) {
            return std::nullopt;
        }
        return RoadSpeed{.kilometres_per_hour = 60, .spread = spread_};
    };
    const SpeedRules rules{.means = Means::car,
                           .conditions = conditions_,
                           .on_road = on_road,
                           .off_road = {.kilometres_per_hour = 6, .spread = spread_},
                           .off_road_detour = 1.3,
                           .ferry_spread = spread_};
    return std::make_shared<const Metric>(network(), rules, changes_,
                                          std::span<const TemporaryLink>{}, as_of_);
}

Snap AsciiDistrict::snap(char place) const {
    for (std::uint32_t number = 0; number < roads_.size(); ++number) {
        const Road& road = roads_[number];
        if (!road.ferry && (road.from == place || road.to == place)) {
            const auto length = static_cast<std::uint32_t>(road.km * 100'000);
            return {.point = point(place),
                    .accesses = {{.piece = {number},
                                  .along_cm = road.from == place ? 0 : length,
                                  .on_road = point(place),
                                  .off_road = {}}}};
        }
    }
    return {.point = point(place), .accesses = {}};
}

std::optional<Seconds> AsciiDistrict::typical(char from, char to, Instant at) const {
    const std::vector<Snap> targets{snap(to)};
    const auto times =
        ReferenceRouter(metric()).travel_times({snap(from), at}, targets, Seconds::max());
    return times[0] ? std::optional(times[0]->typical) : std::nullopt;
}

std::optional<Seconds> AsciiDistrict::allow(char from, char to, Instant at) const {
    const std::vector<Snap> targets{snap(to)};
    const auto times =
        ReferenceRouter(metric()).travel_times({snap(from), at}, targets, Seconds::max());
    return times[0] ? std::optional(times[0]->allow) : std::nullopt;
}

std::optional<Route> AsciiDistrict::route(char from, char to, Instant at) const {
    return ReferenceRouter(metric()).route({snap(from), at}, snap(to));
}

}  // namespace waybourne::tests
