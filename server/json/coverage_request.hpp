#pragma once
/// Planners' questions as JSON (docs/openapi.yaml). Each function reports every error at once.

#include <string_view>

#include "server/coverage_request.hpp"

namespace waybourne::server {

/// The body of `POST /v1/coverage/access` and of all that ask no more.
/// @throws InputError
CoverageRequest parse_coverage_request(std::string_view json);

/// The body of `POST /v1/coverage/competition`.
/// @throws InputError
CompetitionRequest parse_competition_request(std::string_view json);

/// The body of `POST /v1/coverage/upgrades`.
/// @throws InputError
UpgradeRequest parse_upgrade_request(std::string_view json);

/// The body of `POST /v1/coverage/report`.
/// @throws InputError
ReportRequest parse_report_request(std::string_view json);

/// The body of `POST /v1/coverage/what-ifs`.
/// @throws InputError
WhatIfRequest parse_what_if_request(std::string_view json);

/// The body of `POST /v1/coverage/indicators`.
/// @throws InputError
IndicatorRequest parse_indicator_request(std::string_view json);

}  // namespace waybourne::server
