#include "server/json/speed_offer.hpp"

#include <array>

#include "server/json/object_reader.hpp"

namespace waybourne::server {

namespace {

// Far beyond any map or district (ours, no source).
constexpr std::size_t most_changes = 100;
constexpr double most_journeys = 1e9;
/// No road is passed so many times slower or quicker than a table says (a slip, not a speed).
constexpr Range factors{0.05, 20};

const std::array<std::string, 2> surfaces{"dry", "wet"};
const std::array<std::string, 2> lights{"day", "night"};

coverage::ClassCalibration read_change(const JsonValue& value, const std::string& pointer,
                                       std::vector<FieldError>& errors) {
    ObjectReader reader{value, pointer, errors};
    coverage::ClassCalibration one;
    for (const char* const name : {"road_class", "surface", "journeys", "time_factor"}) {
        reader.require(name);
    }
    one.road_class = reader.text("road_class").value_or("");
    one.surface = static_cast<routing::Surface>(reader.choice("surface", surfaces).value_or(0));
    one.journeys =
        static_cast<std::size_t>(reader.number("journeys", {0, most_journeys}).value_or(0));
    one.time_factor = reader.number("time_factor", factors).value_or(1);
    one.error = reader.number("error", {0, factors.most});
    one.is_offered = reader.boolean("offered").value_or(true);
    if (const auto light = reader.choice("light", lights)) {
        one.light = static_cast<routing::Light>(*light);
    }
    reader.finish();
    return one;
}

}  // namespace

void write_calibration(JsonWriter& json, const coverage::ClassCalibration& one) {
    constexpr int decimals = 4;
    const auto maybe = [&](const char* name, const std::optional<double>& value) {
        json.key(name);
        if (value) {
            json.value(*value, decimals);
        } else {
            json.null();
        }
    };
    json.member("road_class", one.road_class);
    json.member("surface", surfaces.at(static_cast<std::size_t>(one.surface)));
    json.key("light");
    if (one.light) {
        json.value(lights.at(static_cast<std::size_t>(*one.light)));
    } else {
        json.null();
    }
    json.member("journeys", one.journeys);
    maybe("time_factor", one.time_factor);
    maybe("error", one.error);
    json.member("offered", one.is_offered);
}

void write_speed_offer(JsonWriter& json, const SpeedOffer& offer) {
    json.begin_object().member("table_sha256", offer.table_sha256);
    json.member("table_version", offer.table_version).member("made_at", offer.made_at);
    json.member("journeys", offer.journeys).key("changes").begin_list();
    for (const coverage::ClassCalibration& one : offer.changes) {
        json.begin_object();
        write_calibration(json, one);
        json.end_object();
    }
    json.end_list().end_object();
}

SpeedOffer parse_speed_offer(std::string_view json) {
    return parse_body(json, [](ObjectReader& body, std::vector<FieldError>& errors) {
        SpeedOffer offer;
        for (const char* const name :
             {"table_sha256", "table_version", "made_at", "journeys", "changes"}) {
            body.require(name);
        }
        offer.table_sha256 = body.text("table_sha256").value_or("");
        offer.table_version = body.text("table_version").value_or("");
        offer.made_at = body.instant("made_at").value_or(Instant{});
        offer.journeys =
            static_cast<std::size_t>(body.number("journeys", {0, most_journeys}).value_or(0));
        const auto* const changes = body.list("changes", most_changes);
        for (std::size_t i = 0; changes != nullptr && i < changes->size(); ++i) {
            offer.changes.push_back(read_change(
                (*changes)[i], body.pointer_to("changes") + "/" + std::to_string(i), errors));
        }
        return offer;
    });
}

}  // namespace waybourne::server
