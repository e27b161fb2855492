#pragma once
/// The printable note of a referral, from what the journal keeps.

#include "journal/journal.hpp"
#include "server/note_page.hpp"
#include "server/referrals/record.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// The note as it was written when the place that is asked now was asked. One that an earlier
/// program did not keep is worked out from what was known then.
/// @param base the district as its files alone have it
/// @throws Conflict when the case has been redacted, or nobody has been asked yet
NotePage note_page(const journal::Journal& journal, const Snapshot& base,
                   const ReferralRecord& record, const std::string& link_base);

}  // namespace waybourne::server
