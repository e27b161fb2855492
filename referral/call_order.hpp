#pragma once
/// Which plan leads, and whom to phone first: unconfirmed readiness decides what is said, not who
/// is considered.

#include "referral/staged.hpp"

namespace waybourne::referral {

/// What the answer starts with.
struct Lead {
    Plan plan;
    /// What stands behind it: the best confirmed plan where a call leads; the better but
    /// unconfirmed plan where the confirmed one leads.
    std::optional<Plan> behind = {};
    std::vector<CallFirst> calls = {};
    /// Leads without being confirmed, and nobody can phone.
    bool could_not_be_asked = false;
    /// A confirmed plan leads although an unconfirmed one would be better if all is well.
    bool leads_as_confirmed = false;
};

/// The best plan leads when everything it rests on is confirmed. Otherwise, with Y the best plan
/// when only confirmed care counts, on no place that would have to be phoned, and leaving no
/// critical need unmet that the best plan meets:
///
/// - she can phone, and Y is as good after the wait (everything decided `call_wait` later, no need
///   more is unmet and lateness has grown by no more than the tolerance): the best plan leads as a
///   call, Y behind;
/// - otherwise Y leads;
/// - there is no Y: the best plan leads; where one can phone, as a call, and whoever comes next is
///   phoned next, three places at most.
///
/// @param plans single places first, then the pairs that earn their second stop; not empty
Lead who_leads(const Situation& situation, Ways& ways, std::span<const Plan> plans,
               const ChangesOfVehicle& changes);

}  // namespace waybourne::referral
