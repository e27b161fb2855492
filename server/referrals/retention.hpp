#pragma once
/// Erasing personal data whose time is over.

#include <string>
#include <vector>

#include "journal/journal.hpp"

namespace waybourne::server {

/// How long what is kept. Proposals without a published source: national law decides
/// (docs/security.md).
struct RetentionSettings {
    Seconds cases_for = std::chrono::hours{24} * 30;   ///< from the end of a case
    Seconds reads_for = std::chrono::hours{24} * 730;  ///< who read what
};

/// What stands in the journal, judged by its time.
struct RetentionPlan {
    std::vector<std::string> due;   ///< subjects of cases whose time is over
    std::vector<std::string> held;  ///< under review: left alone, however old
    std::size_t open = 0;           ///< cases that have not ended: never due
    std::size_t not_yet = 0;        ///< ended too short a time ago
};

/// A case is due when it has ended (closed, cancelled, died) that long ago and is not on hold.
/// Reads every case that has ended: O(their events).
/// @throws as `journal::load`
RetentionPlan plan_retention(const journal::Journal& journal, const RetentionSettings& settings,
                             Instant now);

struct RetentionDone {
    RetentionPlan plan;
    /// Bodies erased now; what was erased before does not count again.
    journal::Sequence of_cases = 0;
    journal::Sequence of_reads = 0;
    journal::Sequence of_shifts = 0;
    bool may_linger = false;
};

/// Erases what is due, also while servers use the journal: they work out their state anew. The
/// journal records it under the account `retention`.
/// @throws as `journal::Journal::redact`
RetentionDone run_retention(journal::Journal& journal, const RetentionSettings& settings,
                            Instant now);

}  // namespace waybourne::server
