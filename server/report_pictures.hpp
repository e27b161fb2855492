#pragma once
/// The report's maps and charts, as SVG: one blue, dark and light, with white and grey, so that
/// they are told apart by lightness, and by shape as well.

#include <string>
#include <vector>

#include "server/coverage_report.hpp"
#include "server/report_page.hpp"

namespace waybourne::server {

/// Settlements by class, main roads, the roads that most births depend on, and who offers the care.
std::string map_of(const Snapshot& snapshot, const CoverageReport& report, const ReportPage& page);
std::string legend(const ReportPage& page);
/// How many are in time, for any time.
std::string curve_of(const CoverageAnswer& access, const ReportPage& page);
/// Births in time for what is spent. @param upgrades its curve is not empty
std::string budget_curve(const UpgradeAnswer& upgrades, const ReportPage& page);

/// One line of a chart of bars. Shares are of the whole width.
struct Bar {
    std::string name;
    /// Dark.
    double share = 0;
    /// Light, behind it; 0 where there is none.
    double longer = 0;
    /// Stands at the end of the bar.
    std::string figure;
};
std::string bars(const std::vector<Bar>& all, const std::string& label);

}  // namespace waybourne::server
