#pragma once
/// Vehicles and what is heard of them as JSON.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dispatch/vehicle_report.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/writer.hpp"
#include "server/snapshot.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// The body of `POST /v1/vehicles/{id}/reports`.
/// @param by the role that says it
/// @throws InputError for what says nothing, an unknown state, a position from the future (clocks
///         may run ahead by `dispatch::VehicleSettings::clock_tolerance`), an end that is past
dispatch::VehicleReport parse_vehicle_report(std::string_view json, const std::string& by,
                                             Instant now);

/// The members of a report, inside an object.
void write_report_members(JsonWriter& json, const dispatch::VehicleReport& report);
/// What `write_report_members` wrote.
dispatch::VehicleReport read_report_members(ObjectReader& reader, std::vector<FieldError>& errors);

std::string to_stored(const dispatch::VehicleReport& report, const std::string& request_sha256);
/// @throws InputError for anything else than `to_stored` writes
dispatch::VehicleReport parse_stored_vehicle_report(std::string_view json);

/// One vehicle as it is known now.
struct VehicleView {
    const dispatch::Vehicle& vehicle;
    /// Null: nothing has been heard of it.
    const dispatch::VehicleReport* report = nullptr;
    /// The open referral that it has been sent for.
    std::optional<std::string> referral = {};
};

void write_vehicle(JsonWriter& json, const VehicleView& view, const Snapshot& snapshot,
                   const Words& words);

/// `free`, or what holds it.
std::string_view state_name(const std::optional<dispatch::Hold>& hold);

/// A facility's id, or a point.
void write_base(JsonWriter& json, const dispatch::Base& base);

/// `{"latitude": …, "longitude": …}`, without the braces.
void write_point_members(JsonWriter& json, const GeoPoint& point);

}  // namespace waybourne::server
