#pragma once
/// Every referral of a journal, for those who count and never show one.

#include <functional>

#include "journal/journal.hpp"
#include "server/referrals/record.hpp"

namespace waybourne::server {

/// Calls `tell` for each referral that was no practice, in the order of their codes. Reads the
/// whole journal.
void for_each_referral(const journal::Journal& journal,
                       const std::function<void(const ReferralRecord&)>& tell);

}  // namespace waybourne::server
