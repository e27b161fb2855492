#pragma once
/// What the referral journal says of the counts that indicators are made of: of referred women
/// only.

#include <span>
#include <string>
#include <vector>

#include "coverage/indicator.hpp"
#include "journal/journal.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// Referrals see a part of what facilities see: whoever came by herself is not among them. Hence
/// every figure made of these counts is of referred women, and none is judged.
struct JournalCounts {
    /// `complications`: women whom a facility of the register received, and of whom a direct
    /// complication was suspected by their findings. `direct_deaths`: of them, those who died after
    /// they had arrived; by suspicion, not by a cause of death. What the journal does not record
    /// (births, caesareans, causes, first-day deaths) stays unknown.
    coverage::Counts counts;
    /// Women received in these months at all.
    std::size_t received = 0;
    /// Of them: those with other suspicions or none, those whose findings are erased or cannot be
    /// read by today's protocol, and those of whom it is not recorded whether they lived.
    std::size_t other_conditions = 0;
    std::size_t without_findings = 0;
    std::size_t without_outcome = 0;
    /// `FACILITY 2026-03`: the monthly counts tell of fewer complications than were referred there.
    std::vector<std::string> above_monthly;
};

/// The month that a calendar there shows.
coverage::Month month_of(const TimeZone& zone, Instant at);

/// A referral counts in the local month in which she was received, at the place where she arrived
/// last. Practice does not count. @param months what facilities reported, to be held against it
JournalCounts journal_counts(const Snapshot& snapshot, const journal::Journal& journal,
                             const coverage::IndicatorProfile& profile,
                             std::span<const coverage::MonthlyCount> months, coverage::Month first,
                             coverage::Month last);

}  // namespace waybourne::server
