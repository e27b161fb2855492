#pragma once
/// A plan for transport as JSON: the shapes of `POST /v1/transport-plans`.

#include <string>
#include <string_view>
#include <vector>

#include "server/json/writer.hpp"
#include "server/transport_plan.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// The body of the request.
/// @throws InputError
TransportPlanRequest parse_transport_plan_request(std::string_view json);

/// A promise or a decision: `{"referral": …, "vehicles": […], "aboard": …}`.
dispatch::Promise read_promise(const JsonValue& value, const std::string& pointer,
                               std::vector<FieldError>& errors);

/// The vehicles of these ids as people know them.
void write_vehicles(JsonWriter& json, const std::vector<VehicleId>& ids,
                    const std::vector<dispatch::Vehicle>& vehicles);

void write_transport_plan(JsonWriter& json, const TransportPlanAnswer& answer,
                          const Snapshot& snapshot, const Words& words);

}  // namespace waybourne::server
