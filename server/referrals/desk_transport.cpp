#include <algorithm>
#include <set>

#include "server/json/referral_body.hpp"
#include "server/open_plan.hpp"
#include "server/problem.hpp"
#include "server/referrals/desk.hpp"
#include "server/referrals/permission.hpp"
#include "server/referrals/plan_way.hpp"

namespace waybourne::server {

namespace {

using dispatch::Promise;
using referral::EventKind;

/// What of the journal the caller had seen.
journal::Sequence seen_by(const Call& call) {
    const auto seen = plan_tag(call.if_match);
    if (!seen) {
        throw HttpRefusal(http_refusal(
            428,
            "If-Match names no version: send the ETag of the plan as you have seen it, "
            "so that nobody's decision is overwritten"));
    }
    return *seen;
}

[[noreturn]] void refuse_changed(const std::string& code, journal::Sequence now) {
    Problem problem = http_refusal(
        412, "referral " + code + " has changed since you saw the plan; look and decide again");
    problem.headers.emplace_back("ETag", to_plan_tag(now));
    problem.shown = {code};
    problem.more.emplace_back("referral", "\"" + code + "\"");
    throw HttpRefusal(problem);
}

const OpenWoman& woman_of(const OpenTransport& open, const ReferralId& id) {
    const auto found = std::find_if(open.women.begin(), open.women.end(), [&](const auto& woman) {
        return woman.record->code == id.value();
    });
    if (found == open.women.end()) {
        throw NotFound("no open referral is called '" + id.value() + "'");
    }
    return *found;
}

bool is_among(const std::vector<Promise>& accepted, const std::string& code) {
    return std::any_of(accepted.begin(), accepted.end(),
                       [&](const Promise& one) { return one.referral.value() == code; });
}

std::set<VehicleId> vehicles_in(const std::vector<Promise>& accepted) {
    std::set<VehicleId> vehicles;
    for (const Promise& one : accepted) {
        vehicles.insert(one.vehicles.begin(), one.vehicles.end());
    }
    return vehicles;
}

/// Whoever else has one of the vehicles.
void check_holders(const OpenTransport& open, const std::vector<Promise>& accepted,
                   journal::Sequence seen, journal::Sequence now) {
    const auto wanted = vehicles_in(accepted);
    for (const OpenWoman& woman : open.women) {
        if (is_among(accepted, woman.record->code) || woman.record->life.is_there()) {
            continue;
        }
        for (const VehicleId& vehicle : woman.vehicles) {
            if (wanted.count(vehicle) == 0) {
                continue;
            }
            if (woman.record->acted_version > seen) {
                refuse_changed(woman.record->code, now);
            }
            throw Conflict("vehicle " + vehicle.value() + " was promised to referral " +
                           woman.record->code + ": decide for her in the same call");
        }
    }
}

void check_women(const OpenTransport& open, const std::vector<Promise>& accepted,
                 journal::Sequence seen, journal::Sequence now) {
    std::set<ReferralId> known;
    for (const Promise& one : accepted) {
        const OpenWoman& woman = woman_of(open, one.referral);
        if (woman.record->acted_version > seen) {
            refuse_changed(woman.record->code, now);
        }
        if (woman.planning != Planning::planned) {
            throw Conflict("nothing is to be planned for referral " + woman.record->code + " now");
        }
        if (!known.insert(one.referral).second) {
            throw InputError("referral " + one.referral.value() + " stands twice");
        }
    }
}

/// The events that brought her the vehicle she is not to have any more.
std::vector<referral::EventId> events_to_withdraw(const referral::Life& life) {
    std::vector<referral::EventId> ids;
    for (const referral::Event& event : life.events) {
        const bool is_of_vehicle = event.kind == EventKind::vehicle_assigned ||
                                   event.kind == EventKind::transport_sent ||
                                   event.kind == EventKind::with_the_woman;
        if (is_of_vehicle) {
            ids.push_back(event.id);
        }
    }
    return ids;
}

/// The vehicle of a rendezvous that takes her over: the only one where she sets out by her own.
std::optional<VehicleId> takes_over_in(const dispatch::Way& way) {
    return way.kind == dispatch::WayKind::rendezvous && way.is_possible()
               ? std::optional(way.vehicles.back())
               : std::nullopt;
}

AcceptedTransport accepted_of(const dispatch::Carried& carried, Instant now) {
    const dispatch::Way& way = carried.way;
    AcceptedTransport transport;
    transport.kind = way.kind;
    transport.vehicles = way.vehicles;
    transport.waits = !way.is_possible();
    transport.sets_out = way.sets_out;
    transport.with_her = way.with_her;
    if (way.meeting) {
        transport.meets_at = way.meeting->point;
        transport.meets = way.meeting->both_arrive();
    }
    for (const ReferralId& one : carried.tour) {
        transport.tour.push_back(one.value());
    }
    transport.before = carried.before;
    transport.accepted_at = now;
    return transport;
}

}  // namespace

void Desk::accept_transport(const Call& call, const std::vector<Promise>& accepted) {
    until_nobody_interferes(records_, [&] { accept_transport_once(call, accepted); });
}

void Desk::accept_transport_once(const Call& call, const std::vector<Promise>& accepted) {
    require_allowed(may_send_vehicles(call.caller), call.caller);
    if (told_before(call)) {
        return;
    }
    const journal::Sequence seen = seen_by(call);
    const auto snapshot = snapshot_.get();
    journal::Append append;
    for (const VehicleId& vehicle : vehicles_in(accepted)) {
        vehicle_of(*snapshot, vehicle);  // throws for an unknown one
        const std::string subject = subject_of(vehicle);
        append.expectations.push_back({subject, records_.journal().version(subject)});
        append.entries.push_back({vehicle_promised_kind, subject,
                                  R"({"request_sha256":")" + call.request_sha256 + "\"}"});
    }
    records_.catch_up();
    const Instant now = clock_.now();
    const journal::Sequence last = records_.sequence();
    const OpenTransport open = open_transport(*snapshot, live_of_world(records_, call.caller),
                                              records_.vehicle_reports(), now);
    check_women(open, accepted, seen, last);
    check_holders(open, accepted, seen, last);
    for (const dispatch::Carried& carried : carried_as_decided(*snapshot, open, accepted, now)) {
        add_transport(append, call, woman_of(open, carried.referral), carried, now);
    }
    this->append(call, std::move(append), {});
}

/// What changes for one woman: another place, another vehicle, the way.
void Desk::add_transport(journal::Append& append, const Call& call, const OpenWoman& woman,
                         const dispatch::Carried& carried, Instant now) const {
    const dispatch::Way& way = carried.way;
    const ReferralRecord& record = *woman.record;
    const std::string subject = subject_of(record.code);
    journal::Sequence order = records_.sequence();
    const auto tell = [&](referral::Event event) {
        StoredBody body;
        event.id = new_event_id(order++);
        event.occurred_at = now;
        event.recorded_at = now;
        event.by = by_of(call.caller, summary_of(record));
        require_possible(call.caller, record, event);
        body.told = ToldEvent{std::move(event)};
        body.request_sha256 = call.request_sha256;
        append.entries.push_back({kind_of(body.told->event.kind), subject, to_stored(body)});
    };
    StoredBody planned;
    planned.request_sha256 = call.request_sha256;
    planned.transport = accepted_of(carried, now);
    if (record.life.journey >= referral::Journey::departed && !record.life.is_there()) {
        planned.transport->fetch_at = woman.at;
    }
    const auto first = way.vehicles.empty() ? std::nullopt : std::optional(way.vehicles.front());
    if (record.life.vehicle != first && record.life.journey < referral::Journey::departed) {
        for (const referral::EventId& id : events_to_withdraw(record.life)) {
            referral::Event event;
            event.kind = EventKind::withdrawn;
            event.corrects = id;
            tell(event);
        }
    }
    const auto second = takes_over_in(way);
    if (first && (record.life.vehicle != first || record.life.second_vehicle != second)) {
        referral::Event event;
        event.kind = EventKind::vehicle_assigned;
        event.vehicle = first;
        event.takes_over = second;
        tell(event);
    }
    if (way.is_possible()) {
        planned.way = way_of_transport(*snapshot_.get(), *woman.assessment, way,
                                       means_of(*snapshot_.get(), record, way), now);
        if (record.life.asked != planned.way->to) {
            referral::Event event;
            event.kind = EventKind::diverted;
            event.place = planned.way->to;
            tell(event);
        }
    }
    append.entries.push_back({transport_planned_kind, subject, to_stored(planned)});
    append.expectations.push_back({subject, record.version});
}

}  // namespace waybourne::server
