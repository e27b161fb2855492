#pragma once
/// `/v1/coverage/…`: planners' questions. No person is shown.

#include <vector>

#include "server/application.hpp"

namespace waybourne::server {

std::vector<Endpoint> coverage_endpoints(const Application& application);
/// `/v1/scenarios`: what planners have saved, with its answer as it was then.
std::vector<Endpoint> scenario_endpoints(const Application& application);

}  // namespace waybourne::server
