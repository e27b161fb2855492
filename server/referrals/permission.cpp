#include "server/referrals/permission.hpp"

#include <algorithm>

#include "server/problem.hpp"

namespace waybourne::server {

namespace {

using referral::EventKind;

bool runs_the_district(const Caller& caller) {
    return caller.role == Role::dispatcher || caller.role == Role::administrator;
}

bool acts_for(const Caller& caller, const FacilityId& facility) {
    return std::find(caller.facilities.begin(), caller.facilities.end(), facility) !=
           caller.facilities.end();
}

bool acts_for(const Caller& caller, const std::optional<FacilityId>& facility) {
    return facility && acts_for(caller, *facility);
}

/// A driver's account has the id of the vehicle.
bool drives(const Caller& caller, const std::optional<VehicleId>& vehicle) {
    return vehicle && vehicle->value() == caller.who;
}

bool is_one_of(EventKind kind, std::initializer_list<EventKind> kinds) {
    return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

bool tells_of_vehicles(EventKind kind) {
    return is_one_of(kind, {EventKind::vehicle_assigned, EventKind::transport_sent});
}

bool tells_of_receiving(EventKind kind) {
    return is_one_of(kind, {EventKind::received, EventKind::care_begun});
}

}  // namespace

bool may_use_referrals(const Caller& caller) {
    return caller.role != Role::planner && caller.role != Role::auditor;
}

bool is_of_same_world(const Caller& caller, bool is_practice) {
    // Somebody who can reach only this machine sees both: the sample has no keys.
    return caller.practice == is_practice ||
           (caller.role == Role::administrator && !caller.practice);
}

bool may_see(const Caller& caller, const ReferralSummary& summary) {
    if (!is_of_same_world(caller, summary.is_practice)) {
        return false;
    }
    switch (caller.role) {
        case Role::health_worker:
            return acts_for(caller, summary.sender);
        case Role::facility:
            return acts_for(caller, summary.sender) || acts_for(caller, summary.asked) ||
                   acts_for(caller, summary.at);
        case Role::driver:
            return drives(caller, summary.vehicle) || drives(caller, summary.second_vehicle);
        default:
            return runs_the_district(caller);
    }
}

bool may_tell(const Caller& caller, EventKind kind) {
    switch (caller.role) {
        case Role::health_worker:
            return !tells_of_vehicles(kind) && !tells_of_receiving(kind);
        case Role::facility:
            return !tells_of_vehicles(kind);
        case Role::driver:
            return is_one_of(kind, {EventKind::transport_sent, EventKind::with_the_woman,
                                    EventKind::departed, EventKind::arrived, EventKind::refused,
                                    EventKind::lost_contact, EventKind::contact_regained,
                                    EventKind::died_before_arrival, EventKind::person_added,
                                    EventKind::alert_acknowledged, EventKind::withdrawn});
        default:
            return runs_the_district(caller);
    }
}

bool may_send_from(const Caller& caller, const FacilityId& sender) {
    const bool is_sender = caller.role == Role::health_worker || caller.role == Role::facility;
    return runs_the_district(caller) || (is_sender && acts_for(caller, sender));
}

bool may_report(const Caller& caller, const FacilityId& facility) {
    return may_send_from(caller, facility);
}

bool may_see_arrivals(const Caller& caller, const FacilityId& facility) {
    return may_send_from(caller, facility);
}

bool may_report_roads(const Caller& caller) {
    return may_use_referrals(caller);
}

bool may_see_vehicle(const Caller& caller, const VehicleId& vehicle) {
    return runs_the_district(caller) ||
           (caller.role == Role::driver && caller.who == vehicle.value());
}

bool may_send_vehicles(const Caller& caller) {
    return runs_the_district(caller);
}

bool gives_care(const Caller& caller) {
    return caller.role != Role::driver && caller.role != Role::dispatcher;
}

bool may_hold(const Caller& caller) {
    return runs_the_district(caller);
}

referral::By by_of(const Caller& caller, const ReferralSummary& summary) {
    switch (caller.role) {
        case Role::health_worker:
            return {referral::Role::health_worker, summary.sender};
        case Role::facility:
            return {referral::Role::facility, acts_for(caller, summary.asked) ? summary.asked
                                              : acts_for(caller, summary.at)
                                                  ? summary.at
                                                  : std::optional{summary.sender}};
        case Role::driver:
            return {referral::Role::driver, {}};
        default:
            return {referral::Role::dispatcher, {}};
    }
}

void require_allowed(bool is_allowed, const Caller& caller) {
    if (!is_allowed) {
        throw HttpRefusal(http_refusal(
            403, "the role " + std::string(to_name(caller.role)) + " may not do this here"));
    }
}

}  // namespace waybourne::server
