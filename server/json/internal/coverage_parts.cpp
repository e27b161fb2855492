#include "server/json/internal/coverage_parts.hpp"

#include <fmt/format.h>

namespace waybourne::server {

std::string facility_at(const facilities::FacilityRegister& places,
                        const std::optional<std::uint32_t>& place) {
    return place ? places.facilities()[*place].id.value() : "";
}

std::string csv_value(const std::string& text) {
    std::string all = "\"";
    for (const char c : text) {
        all += c == '"' ? "\"\"" : std::string(1, c);
    }
    return all + '"';
}

std::string figure(double value) {
    return fmt::format("{:.10g}", value);
}

std::string figure(const std::optional<double>& value) {
    return value ? figure(*value) : "";
}

void write_names(JsonWriter& json, triage::CapabilitySet set) {
    json.begin_list();
    for (const triage::Capability one : set.members()) {
        json.value(triage::to_name(one));
    }
    json.end_list();
}

void write_maybe(JsonWriter& json, const char* name, const std::optional<double>& value,
                 int digits) {
    json.key(name);
    if (value) {
        json.value(*value, digits);
    } else {
        json.null();
    }
}

void write_total(JsonWriter& json, const coverage::AccessTotal& total) {
    json.begin_object();
    json.member("settlements", total.settlements);
    for (const auto& [name, births] :
         {std::pair("births_per_year", total.births), std::pair("in_time", total.in_time),
          std::pair("beyond", total.beyond), std::pair("no_route", total.no_route),
          std::pair("unknown", total.unknown),
          std::pair("in_time_typically", total.in_time_typically),
          std::pair("way_in_time", total.way_in_time),
          std::pair("double_cover", total.double_cover)}) {
        json.key(name).value(births, decimals);
    }
    write_maybe(json, "share_at_least", total.at_least());
    write_maybe(json, "share_at_most", total.at_most());
    json.end_object();
}

void begin_feature(JsonWriter& json, const GeoPoint& point) {
    json.begin_object().member("type", "Feature");
    json.key("geometry").begin_object().member("type", "Point");
    json.key("coordinates").value(point).end_object();
    json.key("properties");
}

void write_position(JsonWriter& json, const GeoPoint& point) {
    json.key("latitude").value(point.latitude().degrees, 7);
    json.key("longitude").value(point.longitude().degrees, 7);
}

void write_load(JsonWriter& json, const CoverageAnswer& answer, std::size_t place) {
    const auto& facility = answer.facilities.facilities()[place];
    const coverage::PlaceLoad& load = answer.loads[place];
    json.member("facility", facility.id).member("name", facility.name);
    write_position(json, facility.point);
    json.key("births_per_year").value(load.births, 2);
    json.key("births_in_time").value(load.births_in_time, 2);
    write_maybe(json, "capacity_births_per_year", answer.capacities[place], 2);
    write_maybe(json, "of_capacity", load.of_capacity);
}

void write_facilities(JsonWriter& json, const CoverageAnswer& answer) {
    json.key("facilities").begin_list();
    for (std::size_t place = 0; place < answer.loads.size(); ++place) {
        json.begin_object();
        write_load(json, answer, place);
        json.end_object();
    }
    json.end_list();
}

}  // namespace waybourne::server
