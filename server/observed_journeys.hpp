#pragma once
/// How long each delay really took, by the journal: for planners, so never about one person.

#include <string>
#include <utility>
#include <vector>

#include "coverage/calibration.hpp"
#include "journal/journal.hpp"
#include "server/snapshot.hpp"
#include "server/speed_offer.hpp"

namespace waybourne::server {

/// Referrals that have something in common.
struct DelayGroup {
    /// `all`, `to` and the id of the receiving place, or `sent` and the hours of the local day.
    std::string name;
    std::size_t referrals = 0;
    /// Each delay by its name, as `referral/referral_times.hpp` calls it. A delay that is not
    /// recorded is counted nowhere: `referrals` minus its count.
    std::vector<std::pair<std::string, coverage::ObservedSpread>> delays;
};

struct JourneysAnswer {
    /// All first, then those by place and by hour of which enough is known to be told.
    std::vector<DelayGroup> groups;
    std::vector<coverage::Calibration> calibrations;
    /// By class of road and season, of the journeys whose way today's map knows.
    std::vector<coverage::ClassCalibration> classes;
    std::size_t ways = 0;
};

/// What the journeys ask of the speed table. Nothing is changed by it.
SpeedOffer speed_offer(const Snapshot& snapshot, const JourneysAnswer& answer, Instant now);

/// Practice cases do not count. The modelled time of a journey is that of the way as it was planned
/// then; it counts where she arrived at the place it led to. What she travelled on is the way that
/// today's map and speeds give for that hour and season, since only a line is kept of the planned
/// one.
JourneysAnswer answer_journeys(const Snapshot& snapshot, const journal::Journal& journal);

}  // namespace waybourne::server
