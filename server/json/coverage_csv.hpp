#pragma once
/// Answers for planners as tables: RFC 4180, each with a line of headings.

#include <string>

#include "server/coverage.hpp"
#include "server/coverage_indicators.hpp"
#include "server/critical_links.hpp"
#include "server/observed_journeys.hpp"
#include "server/upgrades.hpp"

namespace waybourne::server {

std::string settlements_csv(const CoverageAnswer& answer);
std::string links_csv(const LinksAnswer& answer);
std::string journeys_csv(const JourneysAnswer& answer);
std::string losses_csv(const LossesAnswer& answer);
std::string overview_csv(const OverviewAnswer& answer);
std::string upgrades_csv(const Snapshot& snapshot, const UpgradeAnswer& answer);
std::string what_if_csv(const WhatIfAnswer& answer);
std::string indicators_csv(const IndicatorAnswer& answer);

}  // namespace waybourne::server
