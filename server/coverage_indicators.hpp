#pragma once
/// The indicators of emergency obstetric care for a district.

#include <string>
#include <vector>

#include "coverage/indicator.hpp"
#include "server/coverage_request.hpp"
#include "server/journal_counts.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// The same indicators, as far as referrals tell of them.
struct JournalIndicators {
    JournalCounts counts;
    /// None is judged: they are of referred women only.
    std::vector<coverage::Indicator> indicators;
};

/// One sub-district and whether it has the facilities that its people need; none: not known.
struct AreaIndicator {
    coverage::AreaAvailability availability;
    std::optional<bool> is_met;
};

struct IndicatorAnswer {
    coverage::IndicatorProfile profile;
    coverage::Counts counts;
    std::vector<coverage::Indicator> indicators;
    std::optional<coverage::MissingFacilities> missing_facilities;
    /// In the order of the boundaries; empty where no boundaries are known.
    std::vector<AreaIndicator> areas;
    /// None where it was not asked for.
    std::optional<JournalIndicators> journal;
    /// Months and cells that nobody reported.
    std::vector<std::string> missing;
    /// Facilities that offer every function of the level, but nobody says whether each was done in
    /// the last three months: they may be functioning or not.
    std::vector<FacilityId> maybe_basic;
    std::vector<FacilityId> maybe_comprehensive;
    /// Facilities whose counts are in the sums although they are known not to function at the basic
    /// level: the edition counts functioning ones only.
    std::vector<FacilityId> not_functioning;
    coverage::Month first;
    coverage::Month last;
};

/// What the figures do not know, as sentences; empty: nothing of this is missing.
std::vector<Message> what_is_missing(const IndicatorAnswer& answer);

/// The edition that comes with the program: the UN set of 2009.
coverage::IndicatorProfile default_indicator_profile();

/// A facility functions at a level when every signal function of it was done there in the last
/// three months (UN handbook 2009): by the register's own dates. Where those are not known the
/// number is not known, unless the request gives it.
/// Sub-districts need boundaries, since a facility says in none which one it lies.
/// @param journal read where the request asks for it; null: there is none
/// @throws InputError for months of a facility that is not in the register; Unavailable where the
///         journal is asked for and there is none
IndicatorAnswer answer_indicators(const Snapshot& snapshot, const IndicatorRequest& request,
                                  const coverage::IndicatorProfile& profile, Instant now,
                                  const journal::Journal* journal = nullptr);

}  // namespace waybourne::server
