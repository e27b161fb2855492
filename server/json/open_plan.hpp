#pragma once
/// The plan for all open referrals as JSON: the shapes of `GET /v1/transport-plans` and of what is
/// accepted of it.

#include <string_view>
#include <vector>

#include "server/json/writer.hpp"
#include "server/open_plan.hpp"
#include "server/words.hpp"

namespace waybourne::server {

void write_open_plan(JsonWriter& json, const OpenPlanAnswer& answer, const Snapshot& snapshot,
                     const Words& words);

/// The body of `POST /v1/transport-plans/accepted`.
/// @throws InputError
std::vector<dispatch::Promise> parse_accepted_transport(std::string_view json);

}  // namespace waybourne::server
