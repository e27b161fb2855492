#pragma once
/// What the district report was made from, beside the inputs of every answer (`write_inputs`).

#include "server/coverage_report.hpp"
#include "server/json/writer.hpp"

namespace waybourne::server {

/// Members `upgrades` (limits, costs and objective), `what_ifs` (the names of the plans; what they
/// change stands beside them), `indicators` (edition, months and the SHA-256 of the monthly counts
/// as they were counted) and, where there is one, `journal` (its last entry and that entry's hash).
void write_report_inputs(JsonWriter& json, const CoverageReport& report);

}  // namespace waybourne::server
