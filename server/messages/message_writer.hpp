#pragma once
/// The words of the text messages about one referral.

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "referral/text_message.hpp"
#include "server/referrals/record.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// The referral with that code; null when there is none.
using FindReferral = std::function<std::shared_ptr<const ReferralRecord>(const std::string& code)>;

/// Writes for one reader. Holds references to what it is made from.
class MessageWriter {
public:
    /// @param find those that her vehicle fetches too
    /// @param language of whoever is to read them; empty: the district's
    MessageWriter(const ReferralRecord& record, const Snapshot& snapshot, const FindReferral& find,
                  const std::string& language, Instant now);

    /// None when the place is no longer known.
    std::optional<std::string> expected(const FacilityId& place) const;
    /// To the driver with that account.
    std::optional<std::string> order(const std::string& account, bool is_changed) const;
    /// A text that holds nothing but the code.
    std::string short_text(const char* id) const;

private:
    referral::MessageContext context() const;
    std::vector<triage::Capability> meets_at(const FacilityId& place) const;
    std::vector<std::shared_ptr<const ReferralRecord>> fetched_together() const;
    std::string tour_order(const std::vector<std::shared_ptr<const ReferralRecord>>& women,
                           bool is_changed) const;

    const ReferralRecord& record_;
    const Snapshot& snapshot_;
    const FindReferral& find_;
    const Catalogue& catalogue_;
    Instant now_;
};

}  // namespace waybourne::server
