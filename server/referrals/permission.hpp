#pragma once
/// Who may see and do what with referrals, reports and roads: denied unless it stands here. One
/// place, so that it can be read and tested as a table.
///
/// | role          | sees                              | tells                                   |
/// |---------------|-----------------------------------|-----------------------------------------|
/// | health worker | what its own places have sent     | all but a vehicle's and receiving steps |
/// | facility      | what comes to it or it has sent   | its answer, arrival, care and outcome   |
/// | driver        | the journeys of its own vehicle   | the steps of the journey                |
/// | dispatcher    | everything                        | everything                              |
/// | administrator | everything                        | everything                              |
/// | planner       | no referral                       | –                                       |
/// | auditor       | no referral                       | –                                       |
///
/// A driver's account has the id of the vehicle. Practice cases are seen by those who practise, and
/// no others.

#include "server/caller.hpp"
#include "server/referrals/recorded.hpp"

namespace waybourne::server {

/// Whether the role has anything to do with referrals of women at all.
bool may_use_referrals(const Caller& caller);
/// Practice cases are for who practises, real ones for who does not; an administrator who does not
/// practise sees both, each marked.
bool is_of_same_world(const Caller& caller, bool is_practice);
bool may_see(const Caller& caller, const ReferralSummary& summary);
/// Whether the caller may tell this step of a referral that it may see.
bool may_tell(const Caller& caller, referral::EventKind kind);
/// Whether the caller may open referrals from this place.
bool may_send_from(const Caller& caller, const FacilityId& sender);
/// Whether the caller may say what this place can give.
bool may_report(const Caller& caller, const FacilityId& facility);
bool may_see_arrivals(const Caller& caller, const FacilityId& facility);
bool may_report_roads(const Caller& caller);
/// Whether the caller may see where this vehicle is, and say it: its driver and who sends it.
bool may_see_vehicle(const Caller& caller, const VehicleId& vehicle);
/// Whether the caller decides who carries whom.
bool may_send_vehicles(const Caller& caller);
/// Whether the caller gives care, and so may see what was found on her: drivers and dispatchers
/// need what she needs, not what was found.
bool gives_care(const Caller& caller);
/// Whether the caller may put cases on hold for review.
bool may_hold(const Caller& caller);

/// In what function the caller acts on a referral.
referral::By by_of(const Caller& caller, const ReferralSummary& summary);

/// @throws HttpRefusal 403 unless `is_allowed`
void require_allowed(bool is_allowed, const Caller& caller);

}  // namespace waybourne::server
