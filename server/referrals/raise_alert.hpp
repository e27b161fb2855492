#pragma once
/// What the service itself writes about a referral.

#include <string>

#include "referral/event.hpp"
#include "server/referrals/records.hpp"

namespace waybourne::server {

/// The account under which the service itself writes.
inline constexpr const char* service_account = "service";

/// An event that the service tells.
referral::Event event_of_service(const std::string& id, referral::EventKind kind, Instant now);

/// Stores it unless something has happened since `record`: the step may be done meanwhile.
/// @param key the same whoever raises it, and when
/// @return false when it was raised before, or something has happened: to be looked at again
/// @throws as `Records::append`
bool raise(Records& records, const ReferralRecord& record, const std::string& key,
           referral::Event event);

}  // namespace waybourne::server
