#pragma once
/// Texts about alerts that nobody takes on: an alert goes to the next owner every three minutes
/// (standing_alerts.hpp), and whoever it goes on to is texted where there is a number.
///
/// | owner           | numbers                                                        |
/// |-----------------|----------------------------------------------------------------|
/// | dispatcher      | of dispatchers                                                 |
/// | sender          | of health workers and facilities at the place that sent her    |
/// | receiving place | of facilities at the place that is asked, or where she is      |
///
/// The first owner is not texted: the alert stands on his screen, and three minutes are his; a
/// driver is never anything but the first. Each
/// number is texted once about each alert, never about a practice case. The text says the code,
/// what is overdue and whom to phone, and nothing of what was found.

#include <optional>
#include <string>
#include <vector>

#include "server/messages/outgoing_message.hpp"
#include "server/referrals/record.hpp"
#include "server/security/keys.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// Whom to phone, by what the register and the list of vehicles say.
struct PhoneEntry {
    std::string name;
    /// In the order to try; empty: none is known.
    std::vector<std::string> phones;
};

/// What an alert is about.
struct AlertTold {
    std::string code;
    /// As `StandingAlert::what`.
    std::string what;
    Instant due{};
};

/// What the text says; fits two messages.
/// @param language of whoever is to read it; empty: the district's
/// @param whom none: nobody is known
/// @throws InputError when the catalogue's own words leave no room
std::string alert_text(const Snapshot& snapshot, const std::string& language, const AlertTold& told,
                       const std::optional<PhoneEntry>& whom, Instant now);

/// What is to be queued, with ids that are the same wherever they are worked out.
/// @param news_for an alert that went on longer ago than this is not texted about any more
std::vector<OutgoingMessage> alert_messages(const ReferralRecord& record, const Snapshot& snapshot,
                                            const Keys& keys, Seconds news_for, Instant now);

/// Whether the alert that such a message tells of stands and nobody has taken it on.
bool waits_for_somebody(const OutgoingMessage& message, const ReferralRecord& record, Instant now);

/// The ids of the alerts that an account was texted about and that nobody has taken on.
std::vector<std::string> alerts_told(const ReferralRecord& record, const std::string& account,
                                     Instant now);

}  // namespace waybourne::server
