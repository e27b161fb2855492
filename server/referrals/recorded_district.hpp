#pragma once
/// What the journal says of places and roads, laid over what the district's files say.

#include <string>
#include <vector>

#include "server/referrals/kept_answer.hpp"
#include "server/referrals/recorded.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// The register with every report that fits it. One about a place or resource that the register no
/// longer has says nothing any more.
facilities::FacilityRegister with_reports(facilities::FacilityRegister facilities,
                                          const Recorded& recorded);

/// The changes of the files that nobody has ended, and those of the journal that are not over.
std::vector<routing::RoadChange> road_changes_of(const Snapshot& base, const Recorded& recorded,
                                                 Instant now);

/// A district as it was known at a moment of the past.
struct KnownThen {
    std::shared_ptr<const Snapshot> snapshot;
    /// Entries of the journal whose content has been erased since.
    std::vector<journal::Sequence> erased = {};
    /// Road changes that were known then and stand nowhere any more.
    std::vector<std::string> lost_changes = {};
};

/// Places and roads as whoever made an answer on this basis knew them, on the files of `base`.
/// Reads the journal up to there. O(envelopes).
/// @param at decides which road changes are in force
KnownThen known_then(const Snapshot& base, const journal::Journal& journal, const Basis& basis,
                     Instant at);

}  // namespace waybourne::server
