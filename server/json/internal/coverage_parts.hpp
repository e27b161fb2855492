#pragma once
/// What planners' answers have in common as JSON and as tables.

#include <functional>
#include <optional>
#include <string>

#include "server/access_study.hpp"
#include "server/json/writer.hpp"

namespace waybourne::server {

/// Of births and shares.
inline constexpr int decimals = 4;

/// Its id; empty for none.
std::string facility_at(const facilities::FacilityRegister& places,
                        const std::optional<std::uint32_t>& place);
/// A name as one value of a table.
std::string csv_value(const std::string& text);
/// Up to ten digits; nothing where it is not known.
std::string figure(double value);
std::string figure(const std::optional<double>& value);

void write_names(JsonWriter& json, triage::CapabilitySet set);
void write_maybe(JsonWriter& json, const char* name, const std::optional<double>& value,
                 int digits = decimals);
void write_total(JsonWriter& json, const coverage::AccessTotal& total);
/// Members `latitude` and `longitude`.
void write_position(JsonWriter& json, const GeoPoint& point);

/// A feature of GeoJSON (RFC 7946) at a point, up to its properties: an object is to follow, and
/// the feature's end.
void begin_feature(JsonWriter& json, const GeoPoint& point);

/// Members of one place: who it is, what would come to it, and against what room.
void write_load(JsonWriter& json, const CoverageAnswer& answer, std::size_t place);
/// All of them as a list under `facilities`.
void write_facilities(JsonWriter& json, const CoverageAnswer& answer);

/// The line of headings, then one line per item.
template <typename Items, typename Line>
std::string table(const char* headings, const Items& items, const Line& line) {
    std::string text = std::string(headings) + '\n';
    for (const auto& item : items) {
        text += line(item) + '\n';
    }
    return text;
}

}  // namespace waybourne::server
