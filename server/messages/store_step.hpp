#pragma once
/// What happens to a text message, written into the journal.

#include <string>

#include "server/messages/outgoing_message.hpp"
#include "server/referrals/records.hpp"

namespace waybourne::server {

/// Stores one step of a message under the referral's subject, unless something has happened since
/// `record`. A key that was used before changes nothing: another server was quicker.
/// @param key of the service's own account; empty: none
/// @throws as `Records::append`
void store_step(Records& records, const ReferralRecord& record, const MessageStep& step,
                const std::string& key, Instant now);

/// Whoever has this account has every order that was texted to it about the referral.
void store_answered(Records& records, const std::string& code, const std::string& account,
                    Instant now);

}  // namespace waybourne::server
