#include "server/referrals/standing_alerts.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace waybourne::server {

namespace {

using referral::Owner;

constexpr std::array<std::string_view, 6> raised_kinds{"order",   "message",   "way",
                                                       "vehicle", "cannot_go", "worse"};

/// Of an alert that is no overdue step; empty for a step.
std::string_view kind_of_raised(const std::string& id) {
    const auto* const found =
        std::find_if(raised_kinds.begin(), raised_kinds.end(), [&](std::string_view kind) {
            return id.starts_with(kind) && id.size() > kind.size() && id[kind.size()] == '-';
        });
    return found == raised_kinds.end() ? std::string_view{} : *found;
}

/// The message that an `order-` or `message-` alert is about; null when there is none.
const OutgoingMessage* message_in(const ReferralRecord& record, std::string_view id) {
    const auto found =
        std::find_if(record.messages.begin(), record.messages.end(),
                     [&](const OutgoingMessage& message) { return message.id == id; });
    return found == record.messages.end() ? nullptr : &*found;
}

/// The vehicle that a `vehicle-` alert is about.
VehicleId vehicle_in_alert(std::string_view id) {
    constexpr std::string_view before = "vehicle-";
    return VehicleId{std::string{id.substr(before.size(), id.rfind('-') - before.size())}};
}

bool has_ended(const ReferralRecord& record, const std::string& id, std::string_view kind) {
    if (!record.life.is_open() || record.life.is_there()) {
        return true;
    }
    if (kind == "vehicle") {
        const VehicleId vehicle = vehicle_in_alert(id);
        return record.life.vehicle != vehicle && record.life.second_vehicle != vehicle;
    }
    if (kind != "order" && kind != "message") {
        return false;
    }
    const auto* message = message_in(record, std::string_view{id}.substr(kind.size() + 1));
    return message == nullptr || (kind == "order" ? message->answered_at.has_value()
                                                  : message->state == MessageState::delivered);
}

/// Who sends vehicles acts first, then whoever can reach her or the driver by telephone.
std::vector<Owner> owners_of_raised(const referral::Life& life, std::string_view kind) {
    std::vector<Owner> owners{Owner::dispatcher};
    if (kind == "worse" && life.asked) {
        owners.push_back(Owner::receiving_place);
    }
    owners.push_back(Owner::sender);
    return owners;
}

}  // namespace

std::string held_alert(const VehicleId& vehicle, Instant said_at) {
    return "vehicle-" + vehicle.value() + "-" + std::to_string(said_at.time_since_epoch().count());
}

std::vector<StandingAlert> standing_alerts(const ReferralRecord& record, Instant now) {
    std::vector<StandingAlert> all;
    for (const referral::Alert& alert : referral::alerts(record.life, record.watch_times(), now)) {
        all.push_back({alert.id, std::string(wire_name(alert.step)), alert.due, alert.raised_at,
                       alert.told, alert.acknowledged_at, alert.next_owner_at});
    }
    const auto steps = static_cast<std::ptrdiff_t>(all.size());
    for (const auto& [id, raised] : record.life.alerts) {
        const std::string_view kind = kind_of_raised(id);
        if (kind.empty() || !raised.raised_at || has_ended(record, id, kind)) {
            continue;
        }
        const auto owners = owners_of_raised(record.life, kind);
        auto passed = referral::passed_on(raised, *raised.raised_at, owners, now);
        all.push_back({id, std::string(kind), *raised.raised_at, *raised.raised_at,
                       std::move(passed.told), raised.acknowledged_at, passed.next_owner_at});
    }
    std::stable_sort(all.begin() + steps, all.end(),
                     [](const auto& one, const auto& other) { return one.due < other.due; });
    return all;
}

Message message_of(const std::string& what, Instant due) {
    const bool is_raised =
        std::find(raised_kinds.begin(), raised_kinds.end(), what) != raised_kinds.end();
    return {(is_raised ? "server.alert." : "referral.alert.") + what, {{"due", to_rfc3339(due)}}};
}

}  // namespace waybourne::server
