#include "server/json/boat_ways.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "server/json/object_reader.hpp"
#include "server/json/point.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::server {

namespace {

/// More than any district has.
constexpr std::size_t most_landings = 10'000;
constexpr std::size_t most_ways = 100'000;
constexpr std::size_t most_points = 10'000;
constexpr Range minutes_of_a_day{1, 24 * 60};

using Errors = std::vector<FieldError>;

/// Reads landings, then the ways between them by their ids.
class BoatWaysReader {
public:
    BoatWaysReader(const std::string& zone, Errors& errors) : zone_(zone), errors_(errors) {}

    void read_landing(const JsonValue& value, const std::string& pointer) {
        ObjectReader reader{value, pointer, errors_};
        reader.require("id");
        const std::string id = reader.text("id").value_or("");
        if (std::find(ids_.begin(), ids_.end(), id) != ids_.end()) {
            reader.refuse("id", "\"" + shortened(id) + "\" stands twice");
        }
        routing::Landing landing;
        landing.name = reader.text("name").value_or(id);
        landing.point = read_point(reader);
        reader.finish();
        ids_.push_back(id);
        boats_.landings.push_back(std::move(landing));
    }

    void read_way(const JsonValue& value, const std::string& pointer) {
        ObjectReader reader{value, pointer, errors_};
        routing::BoatWay way;
        const auto from = landing(reader, "from");
        const auto to = landing(reader, "to");
        if (from && from == to) {
            reader.refuse("to", "a way leads from one landing to another");
        }
        reader.require("minutes");
        const int minutes = reader.whole_number("minutes", minutes_of_a_day).value_or(1);
        way.there = std::chrono::minutes{minutes};
        way.back = std::chrono::minutes{
            reader.whole_number("minutes_back", minutes_of_a_day).value_or(minutes)};
        way.is_open_when_wet = reader.boolean("when_wet").value_or(true);
        way.hours = hours(reader);
        way.through = through(reader, pointer);
        const auto name = reader.text("name");
        reader.finish();
        if (from && to) {
            way.from = *from;
            way.to = *to;
            way.name =
                name ? *name : boats_.landings[*from].name + " – " + boats_.landings[*to].name;
            boats_.ways.push_back(std::move(way));
        }
    }

    routing::BoatWays take() { return std::move(boats_); }

private:
    std::optional<std::size_t> landing(ObjectReader& reader, const std::string& name) {
        reader.require(name);
        const auto id = reader.text(name);
        const auto found = id ? std::find(ids_.begin(), ids_.end(), *id) : ids_.end();
        if (id && found == ids_.end()) {
            reader.refuse(name, unknown_name(*id, ids_));
        }
        return found == ids_.end() ? std::nullopt
                                   : std::optional{static_cast<std::size_t>(found - ids_.begin())};
    }

    std::optional<routing::Timetable> hours(ObjectReader& reader) {
        const auto text = reader.text("hours");
        if (!text) {
            return std::nullopt;
        }
        try {
            return routing::parse_timetable(*text, zone_).timetable;
        } catch (const InputError& error) {
            reader.refuse("hours", error.what());
            return std::nullopt;
        }
    }

    std::vector<GeoPoint> through(ObjectReader& reader, const std::string& pointer) {
        std::vector<GeoPoint> points;
        const auto* listed = reader.list("through", most_points);
        for (std::size_t i = 0; listed != nullptr && i < listed->size(); ++i) {
            ObjectReader point{(*listed)[i], fmt::format("{}/through/{}", pointer, i), errors_};
            points.push_back(read_point(point));
            point.finish();
        }
        return points;
    }

    const std::string& zone_;
    Errors& errors_;
    std::vector<std::string> ids_;
    routing::BoatWays boats_;
};

}  // namespace

routing::BoatWays parse_boat_ways(std::string_view json, const std::string& zone) {
    return parse_body(json, [&](ObjectReader& body, Errors& errors) {
        BoatWaysReader reader{zone, errors};
        body.require("landings");
        const auto* landings = body.list("landings", most_landings);
        if (landings != nullptr && landings->empty()) {
            body.refuse("landings", "at least one is needed");
        }
        for (std::size_t i = 0; landings != nullptr && i < landings->size(); ++i) {
            reader.read_landing((*landings)[i], fmt::format("#/landings/{}", i));
        }
        body.require("ways");
        const auto* ways = body.list("ways", most_ways);
        for (std::size_t i = 0; ways != nullptr && i < ways->size(); ++i) {
            reader.read_way((*ways)[i], fmt::format("#/ways/{}", i));
        }
        return reader.take();
    });
}

}  // namespace waybourne::server
