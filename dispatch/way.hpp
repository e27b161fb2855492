#pragma once
/// The ways of getting one woman to care, each worked out and compared with the others.
///
/// She leaves where she is, by `allow`, when
///
///     now + own preparation                                   her own transport
///     now + free + mobilise + approach + loading              a vehicle that is sent
///     max(first vehicle, second vehicle) + transfer           a rendezvous, from the meeting point
///
/// and from then on the place is chosen by `referral::recommend`, so that with one vehicle the
/// answer is its answer. Ways are compared by the criteria of referral/choice.hpp, in their order
/// and with their tolerances; of ways still equal the one with more of her needs on board is
/// preferred, then her own transport, then the vehicle's id.

#include <algorithm>
#include <map>
#include <span>

#include "dispatch/district_roads.hpp"
#include "dispatch/rendezvous.hpp"
#include "dispatch/vehicle.hpp"
#include "referral/recommend.hpp"

namespace waybourne::dispatch {

/// The figures of planning. Proposals unless a source is named.
struct DispatchSettings {
    VehicleSettings vehicles = {};
    /// From the vehicle's arrival until it leaves with her. Means of 14.72 min between facilities
    /// and 12.12 min elsewhere (Jana et al., Scientific Reports 13, 2023,
    /// doi 10.1038/s41598-023-48713-1), rounded.
    Seconds loading_at_facility = 15min;
    Seconds loading_elsewhere = 12min;
    /// From one vehicle into the other. Proposal.
    Seconds transfer = 5min;
    /// A rendezvous is offered only if care begins so much sooner, or if it alone is in time.
    /// Common practice, no source.
    Seconds rendezvous_saves = 10min;
    /// More than two women ride together only where each still has so long for her earliest need.
    /// Proposal.
    Seconds tour_needs_at_least = 4h;
    /// So many women on one tour, and so many looked at for one vehicle, those that it fetches
    /// soonest. Proposals.
    std::size_t most_on_tour = 4;
    std::size_t most_looked_at = 5;
};

/// A woman who is to be brought to care.
struct OpenReferral {
    ReferralId id;
    triage::Assessment assessment;
    GeoPoint at{Latitude{0}, Longitude{0}};
    /// The facility she is at, when she is at one.
    std::optional<FacilityId> at_facility = {};
    /// What is at hand where she is; none: nothing.
    std::optional<routing::Means> own_transport = {};
    /// None: the assumed preparation of `referral::recommend`.
    std::optional<Seconds> own_ready_in = {};
    /// She may sit on the way. Not known counts as lying.
    bool can_sit = false;
    bool can_phone = true;
    std::map<FacilityId, referral::CallAnswer> calls = {};
};

enum class WayKind : std::uint8_t { own_transport, clinic_vehicle, sent_vehicle, rendezvous };
std::string_view to_name(WayKind kind);
std::optional<WayKind> find_way_kind(std::string_view name);

/// Where and when she changes vehicles.
struct Meeting {
    GeoPoint point{Latitude{0}, Longitude{0}};
    referral::Expected first_arrives;
    referral::Expected second_arrives;
    /// Its name, where they meet at a landing.
    std::string landing = {};

    /// When the later one is there.
    referral::Expected both_arrive() const {
        return {std::max(first_arrives.typical, second_arrives.typical),
                std::max(first_arrives.allow, second_arrives.allow)};
    }
};

/// What a vehicle drives before the last stretch: to her, or to where she changes vehicles.
struct Stretch {
    /// None: her own transport.
    std::optional<VehicleId> vehicle = {};
    routing::Means means = routing::Means::car;
    /// It ends where the two vehicles of a rendezvous meet; else where she is.
    bool leads_to_meeting = false;
    std::vector<GeoPoint> line = {};
    bool operator==(const Stretch&) const = default;
};

struct Way {
    WayKind kind = WayKind::own_transport;
    /// Nobody drives before it is light.
    bool waits_for_dawn = false;
    bool takes_a_ferry = false;
    /// Those that carry her, in order; empty for her own transport.
    std::vector<VehicleId> vehicles = {};
    /// When the first vehicle's wheels turn; none for her own transport.
    std::optional<Instant> sets_out = {};
    /// When the first vehicle is with her; when she leaves (from the meeting point, if any, for the
    /// last stretch).
    std::optional<referral::Expected> with_her = {};
    referral::Expected leaves = {};
    std::optional<Meeting> meeting = {};
    /// At the last place, and when the last need met there begins.
    referral::Expected arrives = {};
    referral::Expected care_begins = {};
    /// The place, the stages, the calls: as for her own transport that is ready when she leaves.
    referral::Recommendation recommendation = {};
    /// On the vehicle of the last stretch.
    triage::CapabilitySet on_board = {};
    std::set<Skill> escort_skills = {};
    double chance_in_time = 0;
    /// Old positions, assumed times.
    std::vector<Message> remarks = {};
    /// Why it is not the best, or why it is not possible; empty for the best.
    std::vector<Message> against = {};

    bool is_possible() const { return recommendation.chosen.has_value(); }
    bool is_in_time() const { return recommendation.outcome == referral::Outcome::in_time; }
};

/// What planning rests on, unchanged while it plans.
struct DispatchSituation {
    const facilities::FacilityRegister& facilities;
    DistrictRoads& roads;
    const TimeZone& zone;
    const referral::ChoiceSettings& choice;
    DispatchSettings settings;
    Instant now{};
};

/// How soon a vehicle is with her; none with reasons where it cannot be.
struct Approach {
    /// When the wheels turn.
    Instant sets_out{};
    routing::Snap from;
    routing::TravelTime travel_time;
    std::vector<Message> remarks = {};
};
struct Approached {
    std::optional<Approach> approach;
    std::vector<Message> reasons = {};
};
/// @param not_before the vehicle does not drive before this
Approached approach_of(const DispatchSituation& situation, const OpenReferral& referral,
                       const Vehicle& vehicle, Instant not_before);

/// Where a vehicle stands, on its roads; none off the map.
std::optional<routing::Snap> place_of(const DispatchSituation& situation, const Vehicle& vehicle,
                                      Instant departs, std::vector<Message>& remarks);

/// All ways, best first, then those that are not possible, each with what is against it. Empty only
/// when nothing is needed elsewhere.
/// Complexity: one `recommend` per way, and three searches over the network per pair of vehicles
/// that could meet.
std::vector<Way> compare_ways(const DispatchSituation& situation, const OpenReferral& referral,
                              std::span<const Vehicle> vehicles);

/// How many of her needs the kit serves.
std::size_t needs_served(const triage::Assessment& assessment, triage::CapabilitySet kit);

}  // namespace waybourne::dispatch
