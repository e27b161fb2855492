#pragma once
/// The indicators of emergency obstetric care for a district.

#include <string>
#include <vector>

#include "coverage/indicator.hpp"
#include "server/coverage_request.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

struct IndicatorAnswer {
    coverage::IndicatorProfile profile;
    coverage::Counts counts;
    std::vector<coverage::Indicator> indicators;
    std::optional<coverage::MissingFacilities> missing_facilities;
    /// Months and cells that nobody reported.
    std::vector<std::string> missing;
    /// Facilities that offer every function of the level, but nobody says whether each was done in
    /// the last three months: they may be functioning or not.
    std::vector<FacilityId> maybe_basic;
    std::vector<FacilityId> maybe_comprehensive;
    coverage::Month first;
    coverage::Month last;
};

/// The edition that comes with the program: the UN set of 2009.
coverage::IndicatorProfile default_indicator_profile();

/// A facility functions at a level when every signal function of it was done there in the last
/// three months (UN handbook 2009): by the register's own dates. Where those are not known the
/// number is not known, unless the request gives it.
/// @throws InputError for months of a facility that is not in the register
IndicatorAnswer answer_indicators(const Snapshot& snapshot, const IndicatorRequest& request,
                                  const coverage::IndicatorProfile& profile, Instant now);

}  // namespace waybourne::server
