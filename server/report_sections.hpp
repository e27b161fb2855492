#pragma once
/// The parts of the district report about what facilities count, how long journeys took, and plans
/// side by side. Every sentence is for somebody who knows the district and no statistics.

#include "server/coverage_report.hpp"
#include "server/report_page.hpp"

namespace waybourne::server {

/// Each plan beside what is there now, what it changes, and who gains or loses by name.
void write_what_ifs(ReportPage& page, const CoverageReport& report, const Words& words);
/// Each indicator with what was counted, what it should be, and what is missing.
void write_indicators(ReportPage& page, const CoverageReport& report, const Words& words);
/// Each step of the referrals: what half of them, and nine of ten, took at most; by place and hour.
void write_journeys(ReportPage& page, const CoverageReport& report, const Snapshot& snapshot,
                    const Words& words);

}  // namespace waybourne::server
