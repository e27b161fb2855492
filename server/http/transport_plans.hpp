#pragma once
/// `/v1/transport-plans`: who carries whom, and what of it is accepted.

#include <vector>

#include "server/application.hpp"

namespace waybourne::server {

std::vector<Endpoint> transport_plan_endpoints(const Application& application);

}  // namespace waybourne::server
