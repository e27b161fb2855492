#pragma once
/// Everything about one referral that somebody has to act on: overdue steps, and what was raised
/// besides them.
///
/// | what        | raised because                                         | ends                  |
/// |-------------|--------------------------------------------------------|-----------------------|
/// | a step      | it is overdue (referral/watch.hpp)                     | when it is done       |
/// | `order`     | a driver has not answered his order                    | when he has           |
/// | `message`   | a text message has not got through                     | when it has           |
/// | `way`       | a road change lies on her way, or on one to her        | when she is there     |
/// | `vehicle`   | her vehicle was reported as held                       | when she is there, or |
/// |             |                                                        | has another one       |
/// | `cannot_go` | somebody texted that he cannot go                      | when she is there     |
/// | `worse`     | somebody texted that she is worse                      | when she is there     |
///
/// An alert that nobody acknowledges goes to the next owner every three minutes.

#include <string>
#include <vector>

#include "server/referrals/record.hpp"

namespace waybourne::server {

/// The id of the alert that a report said then holds her vehicle.
std::string held_alert(const VehicleId& vehicle, Instant said_at);

struct StandingAlert {
    std::string id;
    /// The step's wire name, or one of the words above.
    std::string what;
    /// When the step was due; of the others when it was raised.
    Instant due{};
    Instant raised_at{};
    /// Everyone who has it by now, the owner last.
    std::vector<referral::Owner> told = {};
    std::optional<Instant> acknowledged_at = {};
    /// None when it is acknowledged or nobody is left.
    std::optional<Instant> next_owner_at = {};

    referral::Owner owner() const { return told.back(); }
    bool operator==(const StandingAlert&) const = default;
};

/// Overdue steps first, in the order of the steps; then the others by when they were raised.
std::vector<StandingAlert> standing_alerts(const ReferralRecord& record, Instant now);

/// What an alert says.
Message message_of(const std::string& what, Instant due);

}  // namespace waybourne::server
