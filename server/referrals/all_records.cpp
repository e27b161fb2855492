#include "server/referrals/all_records.hpp"

#include "journal/fold.hpp"
#include "server/referrals/recorded.hpp"

namespace waybourne::server {

void for_each_referral(const journal::Journal& journal,
                       const std::function<void(const ReferralRecord&)>& tell) {
    const auto folded = journal::load(journal, recorded_fold());
    for (const auto& [code, summary] : folded.state.summaries) {
        const auto record =
            summary.is_practice ? nullptr : read_record(journal, code, folded.head.sequence);
        if (record) {
            tell(*record);
        }
    }
}

}  // namespace waybourne::server
