#pragma once
/// Who is to be texted about a referral now: worked out from its state and from what was texted
/// before, so that it does not matter who told of a change, in what order, or on which server.
///
/// | who                               | is told                                                 |
/// |-----------------------------------|---------------------------------------------------------|
/// | the place that is asked           | she comes, what is seen, what to have ready             |
/// | a place that was told so          | she does not, once it is no longer asked or she is free |
/// | the driver of the assigned vehicle| where to fetch her and take her, by when, which digits; |
/// |                                   | on a tour whom to fetch first, second, …, and where     |
/// | that of the second vehicle of a   | where and when to take her over, where to take her, by  |
/// | rendezvous                        | when, which digits                                      |
/// | a driver who was told so          | that the order has ended, once it has                   |
///
/// Each in the language that the number is registered with, else in the district's. Only registered
/// numbers are texted, and nobody ever about a practice case.

#include <optional>
#include <vector>

#include "server/messages/message_writer.hpp"
#include "server/messages/outgoing_message.hpp"
#include "server/referrals/record.hpp"
#include "server/security/keys.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// What is to be queued, with ids that are the same wherever they are worked out.
/// @param find those that her vehicle fetches too
/// @param news_since changes written down before are not texted about; none: all are
std::vector<OutgoingMessage> due_messages(const ReferralRecord& record, const Snapshot& snapshot,
                                          const FindReferral& find, const Keys& keys,
                                          std::optional<Instant> news_since, Instant now);

/// Whether somebody was told what no longer holds, and has not been told so.
bool owes_word(const ReferralRecord& record);

/// Whether the driver whom an order went to has set out, or somebody has said so.
bool is_carried_out(const OutgoingMessage& order, const ReferralRecord& record);

/// Whether what a message says is still so; what is not is no longer sent.
bool still_holds(const OutgoingMessage& message, const ReferralRecord& record, Instant now);

}  // namespace waybourne::server
