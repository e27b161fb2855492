#include "server/referrals/shift_list.hpp"

#include <algorithm>

#include "server/json/referral.hpp"
#include "server/referrals/open_transport.hpp"

namespace waybourne::server {

namespace {

ShiftList::Woman woman_of(const ReferralRecord& record,
                          const std::optional<triage::Assessment>& assessment, Instant now) {
    ShiftList::Woman woman;
    woman.code = record.code;
    woman.state = record.life.state();
    woman.sender = record.life.sender;
    woman.asked = record.life.asked;
    if (assessment) {
        woman.deadline = assessment->earliest_deadline;
        for (const triage::Need& need : assessment->needs) {
            if (!need.available_here) {
                woman.needs.push_back({need.any_of, need.critical, need.deadline});
            }
        }
    }
    woman.waits = record.transport && record.transport->waits;
    if (record.transport && record.transport->with_her &&
        record.life.journey < referral::Journey::with_the_woman) {
        woman.with_her_by = record.transport->with_her->allow;
    }
    if (const auto expected = record.expected_arrival()) {
        woman.expected_by = expected->allow;
    }
    for (const StandingAlert& alert : standing_alerts(record, now)) {
        woman.alerts.push_back({alert.id, alert.what, alert.due, alert.acknowledged_at});
    }
    return woman;
}

bool has_open_alert(const ReferralRecord& record, Instant now) {
    const auto alerts = standing_alerts(record, now);
    return std::any_of(alerts.begin(), alerts.end(),
                       [](const StandingAlert& alert) { return !alert.acknowledged_at; });
}

std::vector<ShiftList::VehicleLine> vehicle_lines(
    const Snapshot& snapshot, std::span<const std::shared_ptr<const ReferralRecord>> live,
    const VehicleReports& reports) {
    const auto codes = referrals_by_vehicle(live);
    std::vector<ShiftList::VehicleLine> lines;
    for (const dispatch::Vehicle& vehicle : vehicles_now(snapshot, reports)) {
        ShiftList::VehicleLine line{vehicle.id, vehicle.name};
        if (vehicle.busy) {
            line.hold = vehicle.busy->because;
            line.until = vehicle.busy->until;
        } else if (vehicle.called_in) {
            line.until = vehicle.called_in->until;
        }
        if (const auto code = codes.find(vehicle.id); code != codes.end()) {
            line.code = code->second;
        }
        lines.push_back(std::move(line));
    }
    return lines;
}

}  // namespace

ShiftList shift_list(const Snapshot& snapshot,
                     std::span<const std::shared_ptr<const ReferralRecord>> live,
                     const VehicleReports& reports, Instant now) {
    ShiftList list;
    for (const OpenWoman& open : open_transport(snapshot, live, reports, now).women) {
        ShiftList::Woman woman = woman_of(*open.record, open.assessment, now);
        woman.vehicles = open.vehicles;
        list.women.push_back(std::move(woman));
    }
    for (const auto& record : live) {
        const bool is_there =
            std::any_of(list.women.begin(), list.women.end(),
                        [&](const ShiftList::Woman& woman) { return woman.code == record->code; });
        if (!is_there && has_open_alert(*record, now)) {
            list.women.push_back(woman_of(*record, assessment_of(*record, snapshot, now), now));
        }
    }
    const auto order = [](const ShiftList::Woman& woman) {
        return std::pair{woman.deadline.value_or(Instant::max()), woman.code};
    };
    std::sort(list.women.begin(), list.women.end(),
              [&](const auto& one, const auto& other) { return order(one) < order(other); });
    list.vehicles = vehicle_lines(snapshot, live, reports);
    return list;
}

std::map<VehicleId, std::string> referrals_by_vehicle(
    std::span<const std::shared_ptr<const ReferralRecord>> live) {
    std::map<VehicleId, std::string> codes;
    for (const auto& record : live) {
        const referral::Life& life = record->life;
        if (!life.is_open() || life.is_there() || record->is_practice) {
            continue;
        }
        for (const auto& vehicle : {life.vehicle, life.second_vehicle}) {
            if (vehicle) {
                codes.emplace(*vehicle, record->code);
            }
        }
    }
    return codes;
}

}  // namespace waybourne::server
