#pragma once
/// Places of care and their readiness as JSON.

#include <string>

#include "facilities/facility.hpp"
#include "facilities/readiness.hpp"
#include "facilities/report.hpp"
#include "server/json/writer.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// The wire name: `ready`, `ready_by`, `not_ready` or `unconfirmed`.
std::string_view to_name(facilities::ReadinessState state);

/// Id, name, point, phones and the names of what it offers.
void write_facility_summary(JsonWriter& json, const facilities::Facility& facility);

/// The same with services and resources.
void write_facility(JsonWriter& json, const facilities::Facility& facility);

void write_readiness(JsonWriter& json, const facilities::Readiness& readiness, const Words& words);

}  // namespace waybourne::server
