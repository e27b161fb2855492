#include "dispatch/way.hpp"

#include <algorithm>
#include <array>

#include "dispatch/internal/ways.hpp"
#include "referral/chance.hpp"

namespace waybourne::dispatch {

namespace {

constexpr std::array<std::string_view, 4> way_kinds{"own_transport", "clinic_vehicle",
                                                    "sent_vehicle", "rendezvous"};

constexpr const char* shift_ends_on_the_way = "dispatch.shift_ends_on_the_way";

using referral::Expected;
using routing::TravelTime;

/// The chance of the last stage, the approach's spread included. Readiness of different kinds of
/// care is taken as independent, as everywhere.
double chance_of(const Way& way, const TravelTime& approach) {
    const referral::Choice& choice = *way.recommendation.chosen;
    if (choice.stages.size() != 1 || !choice.stages.front().margin || !choice.unmet.empty()) {
        return choice.chance_in_time;
    }
    const referral::Stage& stage = choice.stages.front();
    const TravelTime whole = referral::together(approach, stage.travel_time);
    double chance =
        referral::chance_within(whole, *stage.margin + approach.allow + stage.travel_time.allow);
    std::set<triage::Capability> counted;
    for (const facilities::Readiness& readiness : stage.readiness) {
        if (counted.insert(readiness.capability).second) {
            chance *= readiness.chance;
        }
    }
    return chance;
}

void set_times(Way& way) {
    const referral::Stage& last = way.recommendation.chosen->stages.back();
    // The recommendation counts from the allowed time of leaving; typically she leaves sooner.
    const Seconds sooner = way.leaves.allow - way.leaves.typical;
    way.arrives = {last.arrival.typical - sooner, last.arrival.allow};
    way.care_begins = last.care_begins;
    const bool waits_for_the_place = last.care_begins.typical - last.arrival.typical !=
                                     last.care_begins.allow - last.arrival.allow;
    if (!waits_for_the_place) {
        way.care_begins.typical -= sooner;
    }
    for (const referral::Stage& stage : way.recommendation.chosen->stages) {
        for (const routing::Leg& leg : stage.route.legs) {
            way.takes_a_ferry = way.takes_a_ferry || leg.means == routing::Means::ferry;
        }
    }
}

}  // namespace

std::string_view to_name(WayKind kind) {
    return way_kinds.at(static_cast<std::size_t>(kind));
}

std::optional<WayKind> find_way_kind(std::string_view name) {
    const auto* const found = std::find(way_kinds.begin(), way_kinds.end(), name);
    return found == way_kinds.end()
               ? std::nullopt
               : std::optional{static_cast<WayKind>(found - way_kinds.begin())};
}

std::size_t needs_served(const triage::Assessment& assessment, triage::CapabilitySet kit) {
    return static_cast<std::size_t>(
        std::count_if(assessment.needs.begin(), assessment.needs.end(),
                      [&](const triage::Need& need) { return kit.intersects(need.any_of); }));
}

void set_vehicle(const Vehicle& vehicle, Way& way) {
    way.vehicles.push_back(vehicle.id);
    way.on_board = vehicle.kit;
    way.escort_skills = vehicle.escort_skills;
}

Seconds loading_of(const DispatchSituation& situation, const OpenReferral& referral) {
    return referral.at_facility ? situation.settings.loading_at_facility
                                : situation.settings.loading_elsewhere;
}

bool has_room(const Vehicle& vehicle, const OpenReferral& referral) {
    return vehicle.seats.lying > 0 || referral.can_sit;
}

bool is_at(const DispatchSituation& situation, const Vehicle& vehicle,
           const OpenReferral& referral) {
    const auto is_near = [&](const GeoPoint& point) {
        return great_circle_distance(point, referral.at) <=
               situation.settings.vehicles.stands_there_within;
    };
    if (vehicle.last_position) {
        return is_near(vehicle.last_position->point);
    }
    const auto* base = std::get_if<FacilityId>(&vehicle.base);
    return base != nullptr ? referral.at_facility == *base
                           : is_near(std::get<GeoPoint>(vehicle.base));
}

Instant sets_out_at(const DispatchSituation& situation, const Vehicle& vehicle, Instant is_free) {
    return is_free + mobilisation_at(vehicle, situation.zone, is_free);
}

void remark_shift_end(const DispatchSituation& situation, const Vehicle& vehicle, Instant sets_out,
                      Instant until, Way& way) {
    const auto ends = on_duty_until(vehicle, situation.zone, sets_out);
    if (ends && *ends < until) {
        way.remarks.push_back({shift_ends_on_the_way, {{"ends", to_rfc3339(*ends)}}});
    }
}

void drop_shift_end(Way& way) {
    std::erase_if(way.remarks,
                  [](const Message& remark) { return remark.id == shift_ends_on_the_way; });
}

referral::Start start_of(const DispatchSituation& situation, const OpenReferral& referral,
                         routing::Means means, const routing::Snap& from, Instant leaves) {
    referral::Start start;
    start.from = from;
    start.at_facility = referral.at_facility;
    start.means = means;
    start.ready_in = leaves - situation.now;
    start.can_phone = referral.can_phone;
    start.calls = referral.calls;
    return start;
}

std::optional<routing::Snap> her_place(const DispatchSituation& situation,
                                       const OpenReferral& referral, routing::Means means,
                                       Instant departs) {
    if (referral.at_facility) {
        const RoadsOf roads = situation.roads.roads(means, departs);
        return roads.facility_snaps[situation.facilities.position(*referral.at_facility)];
    }
    return situation.roads.snap(referral.at, means, departs);
}

std::optional<routing::Snap> place_of(const DispatchSituation& situation, const Vehicle& vehicle,
                                      Instant departs, std::vector<Message>& remarks) {
    const KnownPosition known = position_of(vehicle, situation.now, situation.settings.vehicles);
    if (known.remark) {
        remarks.push_back(*known.remark);
    }
    if (known.point) {
        return situation.roads.snap(*known.point, vehicle.means, departs);
    }
    return place_of(situation, vehicle.base, vehicle.means, departs);
}

std::optional<routing::Snap> place_of(const DispatchSituation& situation, const Base& base,
                                      routing::Means means, Instant departs) {
    if (const auto* facility = std::get_if<FacilityId>(&base)) {
        const RoadsOf roads = situation.roads.roads(means, departs);
        return roads.facility_snaps[situation.facilities.position(*facility)];
    }
    return situation.roads.snap(std::get<GeoPoint>(base), means, departs);
}

Approached approach_of(const DispatchSituation& situation, const OpenReferral& referral,
                       const Vehicle& vehicle, Instant not_before) {
    Approached answer;
    const Availability free =
        availability(vehicle, situation.zone, situation.now, situation.settings.vehicles);
    answer.reasons = free.reasons;
    if (!free.from) {
        return answer;
    }
    if (!has_room(vehicle, referral)) {
        answer.reasons.push_back({"dispatch.she_cannot_lie"});
        return answer;
    }
    Approach approach;
    approach.remarks = std::move(answer.reasons);
    answer.reasons.clear();
    approach.sets_out = std::max(sets_out_at(situation, vehicle, *free.from), not_before);
    if (approach.sets_out == not_before && not_before > *free.from &&
        !on_duty_until(vehicle, situation.zone, not_before)) {
        const auto ends = on_duty_until(vehicle, situation.zone, *free.from);
        answer.reasons.push_back({"dispatch.shift_ends_before_it_goes",
                                  {{"ends", to_rfc3339(ends.value_or(not_before))}}});
        return answer;
    }
    const auto from = place_of(situation, vehicle, approach.sets_out, approach.remarks);
    const auto her = her_place(situation, referral, vehicle.means, approach.sets_out);
    if (!from || !her) {
        answer.reasons.push_back(
            {from ? "dispatch.no_road_to_her" : "dispatch.vehicle_off_the_map"});
        return answer;
    }
    if (!is_at(situation, vehicle, referral)) {
        const RoadsOf roads = situation.roads.roads(vehicle.means, approach.sets_out);
        const auto takes = roads.router
                               ->travel_times({*from, approach.sets_out}, std::array{*her},
                                              situation.choice.search_limit)
                               .front();
        if (!takes) {
            answer.reasons.push_back({"dispatch.no_way_to_her"});
            return answer;
        }
        approach.travel_time = *takes;
    }
    approach.from = *from;
    answer.approach = std::move(approach);
    return answer;
}

void set_onward(const DispatchSituation& situation, const OpenReferral& referral,
                routing::Means means, const routing::Snap& from, const TravelTime& approach,
                Way& way) {
    const RoadsOf roads = situation.roads.roads(means, way.leaves.allow);
    way.recommendation = referral::recommend(
        referral.assessment, situation.facilities, roads.facility_snaps, *roads.router,
        start_of(situation, referral, means, from, way.leaves.allow), situation.choice,
        situation.now);
    if (!way.is_possible()) {
        way.against = way.recommendation.remarks;
        return;
    }
    set_times(way);
    way.chance_in_time = chance_of(way, approach);
}

Way own_way(const DispatchSituation& situation, const OpenReferral& referral, Instant not_before) {
    Way way;
    const Seconds assumed = referral.assessment.leave_now
                                ? situation.choice.departure_delay_when_now
                                : situation.choice.departure_delay;
    const Instant leaves =
        std::max(situation.now + referral.own_ready_in.value_or(assumed), not_before);
    way.leaves = {leaves, leaves};
    if (!referral.own_ready_in) {
        way.remarks.push_back({"referral.assumed_departure",
                               {{"minutes", std::to_string(ceil_minutes(assumed).count())}}});
    }
    const auto her = her_place(situation, referral, *referral.own_transport, leaves);
    if (!her) {
        way.against = {{"dispatch.no_road_to_her"}};
        return way;
    }
    set_onward(situation, referral, *referral.own_transport, *her, {}, way);
    return way;
}

Way vehicle_way(const DispatchSituation& situation, const OpenReferral& referral,
                const Vehicle& vehicle, Instant not_before) {
    Way way;
    way.kind =
        is_at(situation, vehicle, referral) ? WayKind::clinic_vehicle : WayKind::sent_vehicle;
    set_vehicle(vehicle, way);
    Approached approached = approach_of(situation, referral, vehicle, not_before);
    if (!approached.approach) {
        way.against = std::move(approached.reasons);
        return way;
    }
    const Approach& approach = *approached.approach;
    way.remarks = approach.remarks;
    way.sets_out = approach.sets_out;
    way.with_her = Expected{approach.sets_out + approach.travel_time.typical,
                            approach.sets_out + approach.travel_time.allow};
    const Seconds loading = loading_of(situation, referral);
    way.leaves = {way.with_her->typical + loading, way.with_her->allow + loading};
    const auto her = her_place(situation, referral, vehicle.means, way.leaves.allow);
    if (!her) {
        way.against = {{"dispatch.no_road_to_her"}};
        return way;
    }
    set_onward(situation, referral, vehicle.means, *her, approach.travel_time, way);
    if (way.is_possible()) {
        remark_shift_end(situation, vehicle, approach.sets_out, way.arrives.allow, way);
    }
    return way;
}

}  // namespace waybourne::dispatch
