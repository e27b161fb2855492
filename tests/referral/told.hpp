#pragma once
/// Short ways to tell what happened to a referral, for tests.

#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <string>
#include <vector>

#include "referral/life.hpp"
#include "referral/step.hpp"

namespace waybourne::referral {

/// 09:40 on an ordinary day.
inline const Instant opening_time = parse_rfc3339("2026-03-04T09:40:00Z");

inline const FacilityId clinic{"clinic"};
inline const FacilityId hospital{"hospital"};
inline const FacilityId mission{"mission"};

/// A complete event of this kind, `minutes` after the opening, written down at once.
inline Event told(EventKind kind, int minutes, std::string id = {}) {
    Event event;
    event.id = EventId{id.empty() ? std::string(wire_name(kind)) + "-" + std::to_string(minutes)
                                  : std::move(id)};
    event.kind = kind;
    event.occurred_at = opening_time + std::chrono::minutes{minutes};
    event.recorded_at = event.occurred_at;
    event.by = {Role::health_worker, clinic};
    event.reason = "other";
    switch (kind) {
        case EventKind::opened:
            event.place = hospital;
            break;
        case EventKind::diverted:
            event.place = mission;
            break;
        case EventKind::vehicle_assigned:
            event.vehicle = VehicleId{"ambulance-1"};
            break;
        case EventKind::refused:
            event.ask_again_at = event.occurred_at + 60min;
            break;
        case EventKind::closed:
            event.persons = {{Person{}, PersonOutcome::alive_well}};
            break;
        case EventKind::person_added:
            event.persons = {{Person{PersonKind::baby, 1}, {}}};
            break;
        case EventKind::alert_raised:
        case EventKind::alert_acknowledged:
            event.alert = "alert-1";
            break;
        case EventKind::merged:
        case EventKind::unmerged:
            event.other = ReferralId{"other"};
            break;
        default:
            break;
    }
    return event;
}

/// The kinds one after another, ten minutes apart.
inline std::vector<Event> told(const std::vector<EventKind>& kinds) {
    std::vector<Event> events;
    for (const EventKind kind : kinds) {
        events.push_back(told(kind, 10 * static_cast<int>(events.size())));
    }
    return events;
}

inline State state_after(const std::vector<EventKind>& kinds) {
    return life_of(told(kinds)).state();
}

inline Event correcting(Event event, const Event& wrong) {
    event.corrects = wrong.id;
    return event;
}

}  // namespace waybourne::referral
