#pragma once
/// How single ways are worked out.

#include "dispatch/way.hpp"

namespace waybourne::dispatch {

/// From the vehicle's arrival until it leaves with her.
Seconds loading_of(const DispatchSituation& situation, const OpenReferral& referral);

/// Whether she can lie or, where she may, sit in it.
bool has_room(const Vehicle& vehicle, const OpenReferral& referral);

/// Whether it stands where she is: it was last heard of there, however long ago, or, where nothing
/// was heard of it, its base is her place.
bool is_at(const DispatchSituation& situation, const Vehicle& vehicle,
           const OpenReferral& referral);

/// A base on the roads of these means; none off the map.
std::optional<routing::Snap> place_of(const DispatchSituation& situation, const Base& base,
                                      routing::Means means, Instant departs);

/// When its wheels turn if it is told as soon as it is free.
Instant sets_out_at(const DispatchSituation& situation, const Vehicle& vehicle, Instant is_free);

/// Says that its duty ends before `until`, where it does: the crew has to be asked.
void remark_shift_end(const DispatchSituation& situation, const Vehicle& vehicle, Instant sets_out,
                      Instant until, Way& way);
/// Takes back what was so said.
void drop_shift_end(Way& way);

/// She leaves `from` at `leaves`, as `referral/` asks for it.
referral::Start start_of(const DispatchSituation& situation, const OpenReferral& referral,
                         routing::Means means, const routing::Snap& from, Instant leaves);

std::optional<routing::Snap> her_place(const DispatchSituation& situation,
                                       const OpenReferral& referral, routing::Means means,
                                       Instant departs);

/// Puts a vehicle at the end of those that carry her: what is on board is what this one has.
void set_vehicle(const Vehicle& vehicle, Way& way);

/// Fills in the place and the times of a way on which she leaves `from` at `leaves`.
/// @param approach the spread before she leaves; nothing for her own transport
void set_onward(const DispatchSituation& situation, const OpenReferral& referral,
                routing::Means means, const routing::Snap& from,
                const routing::TravelTime& approach, Way& way);

Way own_way(const DispatchSituation& situation, const OpenReferral& referral, Instant not_before);
Way vehicle_way(const DispatchSituation& situation, const OpenReferral& referral,
                const Vehicle& vehicle, Instant not_before);
/// They meet where she comes to `place` soonest; none where the two cannot meet.
std::optional<Way> rendezvous_way(const DispatchSituation& situation, const OpenReferral& referral,
                                  const Way& first, const Vehicle* first_vehicle,
                                  const Vehicle& second, std::size_t place);

/// One of the two is a boat, and they meet at a landing: the one that gives the best way, by the
/// criteria of way.hpp. None where neither or both are boats, and where they cannot meet.
/// Complexity: one `recommend` for each landing that both reach and from which she might be sooner.
std::optional<Way> landing_way(const DispatchSituation& situation, const OpenReferral& referral,
                               const Way& first, const Vehicle* first_vehicle,
                               const Vehicle& second);

/// Sorts them best first and says what is against the others.
void rank_ways(const DispatchSituation& situation, const OpenReferral& referral,
               std::vector<Way>& ways);

}  // namespace waybourne::dispatch
