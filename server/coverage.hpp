#pragma once
/// Planners' questions about access, each as one function of a snapshot, a question and the moment.

#include <string>
#include <vector>

#include "server/access_study.hpp"

namespace waybourne::server {

/// @throws InputError for a bad file or question; Unavailable when stopped or every search is busy
CoverageAnswer answer_coverage(const Snapshot& snapshot, const CoverageRequest& request,
                               Instant now, const coverage::Work& work = {});

/// One scenario beside what is there now.
struct ScenarioAnswer {
    std::string name;
    CoverageAnswer after;
    /// In time now and not in the scenario, by the settlements that are in both.
    coverage::Loss lost;
    /// The other way round: `lost` are those that gain, by number.
    coverage::Loss gained;
};

struct WhatIfAnswer {
    CoverageAnswer before;
    std::vector<ScenarioAnswer> scenarios;
};

/// Every scenario is what a full computation of the changed district gives.
/// @throws as above, and InputError where a change does not fit the district
WhatIfAnswer answer_what_if(const Snapshot& snapshot, const WhatIfRequest& request, Instant now,
                            const coverage::Work& work = {});

/// Several capabilities that are asked about together, e.g. `comprehensive`.
struct CareGroup {
    std::string name;
    triage::CapabilitySet needed;
};

/// The nine signal functions one by one, basic and comprehensive care, and caesarean with blood.
/// @param profile says what basic and comprehensive are
std::vector<CareGroup> report_care(const coverage::IndicatorProfile& profile);

/// One column of the district report: a season at an hour.
struct ReportTime {
    routing::RoadConditions conditions;
    Instant leave_at{};
};

/// Dry and wet, at noon and at midnight of the day, as the district's clocks show them.
std::vector<ReportTime> report_times(const Snapshot& snapshot, Instant now);

/// Rows are kinds of care, columns seasons and hours.
struct OverviewAnswer {
    std::vector<CareGroup> care;
    std::vector<ReportTime> times;
    /// Row by row.
    std::vector<coverage::AccessTotal> totals;
    const coverage::AccessTotal& at(std::size_t row, std::size_t column) const {
        return totals.at(row * times.size() + column);
    }
};

/// @param request its needs, moment and road conditions do not matter
OverviewAnswer answer_overview(const Snapshot& snapshot, const CoverageRequest& request,
                               const coverage::IndicatorProfile& profile, Instant now,
                               const coverage::Work& work = {});

/// Who is in time on a dry noon and is not then.
struct SeasonLoss {
    ReportTime then;
    coverage::Loss loss;
};

struct LossesAnswer {
    std::vector<coverage::Settlement> settlements;
    ReportTime dry_noon;
    /// On a wet noon, a dry midnight, a wet midnight.
    std::vector<SeasonLoss> losses;
};

/// @param request its moment and road conditions do not matter
LossesAnswer answer_losses(const Snapshot& snapshot, const CoverageRequest& request, Instant now,
                           const coverage::Work& work = {});

/// How much a headline owes to travel times that nobody has measured.
struct SensitivityPoint {
    double time_factor = 1;
    coverage::AccessTotal total;
};

/// All travel times × 0.8, 1, 1.25 and 1.5. Births higher or lower by a fifth change every number
/// of births by a fifth, and no share.
std::vector<SensitivityPoint> answer_sensitivity(const Snapshot& snapshot,
                                                 const CoverageRequest& request, Instant now,
                                                 const coverage::Work& work = {});

}  // namespace waybourne::server
