#include "server/open_plan.hpp"

#include <algorithm>

#include "dispatch/remembered_roads.hpp"
#include "server/http/query.hpp"
#include "server/planned_roads.hpp"
#include "server/referrals/permission.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

dispatch::DispatchSituation situation_of(const Snapshot& snapshot, dispatch::DistrictRoads& roads,
                                         Instant now) {
    return {snapshot.facilities, roads, snapshot.zone, snapshot.settings, {}, now};
}

const dispatch::OpenReferral& referral_of(const OpenTransport& open, const ReferralId& id) {
    const auto found =
        std::find_if(open.referrals.begin(), open.referrals.end(),
                     [&](const dispatch::OpenReferral& one) { return one.id == id; });
    if (found == open.referrals.end()) {
        throw NotFound("nothing is planned for a referral '" + id.value() + "' now");
    }
    return *found;
}

}  // namespace

OpenPlanAnswer answer_open_plan(const Snapshot& snapshot, const Records& records,
                                const Caller& caller, const OpenPlanRequest& request, Instant now) {
    OpenPlanAnswer answer;
    answer.as_of = records.sequence();  // first: what is read later may only be newer
    answer.open =
        open_transport(snapshot, live_of_world(records, caller), records.vehicle_reports(), now);
    PlannedRoads planned_roads(snapshot);
    dispatch::RememberedRoads roads(planned_roads);
    const auto situation = situation_of(snapshot, roads, now);
    dispatch::PlanRequest asked{answer.open.referrals, answer.open.vehicles};
    asked.promises = answer.open.promises;
    if (request.decided) {
        referral_of(answer.open, request.decided->referral);
        asked.decided = request.decided;
    }
    answer.planned.made_at = now;
    answer.planned.vehicles = answer.open.vehicles;
    answer.planned.plan = dispatch::plan_transport(situation, asked);
    if (request.ways_of) {
        answer.planned.ways = dispatch::compare_ways(
            situation, referral_of(answer.open, *request.ways_of), answer.open.vehicles);
    }
    answer.cover = find_cover(snapshot, situation, answer.open.vehicles, answer.open.promises,
                              answer.planned.plan.carried);
    return answer;
}

std::vector<std::shared_ptr<const ReferralRecord>> live_of_world(const Records& records,
                                                                 const Caller& caller) {
    auto live = records.live();
    std::erase_if(live, [&](const auto& record) { return record->is_practice != caller.practice; });
    return live;
}

std::vector<dispatch::Carried> carried_as_decided(const Snapshot& snapshot,
                                                  const OpenTransport& open,
                                                  const std::vector<dispatch::Promise>& decided,
                                                  Instant now) {
    std::vector<dispatch::OpenReferral> referrals;
    std::vector<dispatch::Vehicle> vehicles;
    const auto is_wanted = [&](const VehicleId& id) {
        return std::any_of(decided.begin(), decided.end(),
                           [&](const auto& one) { return takes(one, id); });
    };
    referrals.reserve(decided.size());
    for (const dispatch::Promise& one : decided) {
        referrals.push_back(referral_of(open, one.referral));
    }
    for (const dispatch::Vehicle& vehicle : open.vehicles) {
        if (is_wanted(vehicle.id)) {
            vehicles.push_back(vehicle);
        }
    }
    PlannedRoads roads(snapshot);
    dispatch::PlanRequest asked{referrals, vehicles};
    asked.promises = decided;
    asked.most_changed_promises = 0;
    asked.with_stretches = true;
    auto carried = dispatch::plan_transport(situation_of(snapshot, roads, now), asked).carried;
    for (std::size_t i = 0; i < decided.size(); ++i) {
        if (carried[i].way.vehicles != decided[i].vehicles) {
            throw Conflict("what was decided for referral " + decided[i].referral.value() +
                           " is not possible now: look at the plan again");
        }
    }
    return carried;
}

routing::Means means_of(const Snapshot& snapshot, const ReferralRecord& record,
                        const dispatch::Way& way) {
    return way.vehicles.empty() ? record.opening->request.transport.means
                                : vehicle_of(snapshot, way.vehicles.back()).means;
}

std::string to_plan_tag(journal::Sequence as_of) {
    return "\"plan-" + std::to_string(as_of) + "\"";
}

std::optional<journal::Sequence> plan_tag(std::string_view tag) {
    constexpr std::string_view before = "\"plan-";
    if (!tag.starts_with(before) || !tag.ends_with('"') || tag.size() <= before.size()) {
        return std::nullopt;
    }
    tag.remove_prefix(before.size());
    tag.remove_suffix(1);
    return find_sequence(tag);
}

}  // namespace waybourne::server
