#include "server/open_plan.hpp"

#include <algorithm>

#include "dispatch/remembered_roads.hpp"
#include "server/http/query.hpp"
#include "server/json/complications.hpp"
#include "server/planned_roads.hpp"
#include "server/program_files.hpp"
#include "server/referrals/permission.hpp"
#include "server/settlements.hpp"
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

/// Complications that are expected in an hour.
double calls_per_hour(const std::vector<coverage::Settlement>& settlements) {
    constexpr double hours_per_year = 8766;
    const ComplicationRates rates = parse_complication_rates(
        read_program_file(program_folder() / "dispatch" / "data" / "complications.json"));
    return coverage::births_of(settlements) * rates.per_birth / hours_per_year;
}

/// Whether a way or a promise takes the vehicle.
template <typename Taking>
bool takes(const Taking& taking, const VehicleId& id) {
    return std::find(taking.vehicles.begin(), taking.vehicles.end(), id) != taking.vehicles.end();
}

/// The vehicles that the plan takes and that nobody was promised yet.
std::vector<std::size_t> newly_sent(const OpenPlanAnswer& answer,
                                    const std::vector<std::size_t>& idle) {
    std::vector<std::size_t> leaving;
    for (const std::size_t number : idle) {
        const VehicleId& id = answer.open.vehicles[number].id;
        const auto& all = answer.planned.plan.carried;
        const bool is_sent = std::any_of(
            all.begin(), all.end(), [&](const auto& carried) { return takes(carried.way, id); });
        if (is_sent) {
            leaving.push_back(number);
        }
    }
    return leaving;
}

/// Free, and not promised to anybody.
std::vector<std::size_t> idle_vehicles(const dispatch::DispatchSituation& situation,
                                       const OpenTransport& open) {
    auto idle = dispatch::free_now(situation, open.vehicles);
    std::erase_if(idle, [&](std::size_t number) {
        const VehicleId& id = open.vehicles[number].id;
        return std::any_of(open.promises.begin(), open.promises.end(),
                           [&](const auto& promise) { return takes(promise, id); });
    });
    return idle;
}

std::optional<dispatch::CoverReport> cover_of(const Snapshot& snapshot,
                                              const dispatch::DispatchSituation& situation,
                                              const OpenPlanAnswer& answer) {
    if (snapshot.district.files.count("settlements") == 0 || answer.open.vehicles.empty()) {
        return std::nullopt;
    }
    const auto settlements = settlements_of(snapshot);
    std::vector<dispatch::Zone> zones;
    std::vector<GeoPoint> points;
    for (const coverage::Settlement& settlement : settlements) {
        zones.push_back({settlement.name, settlement.births_per_year});
        points.push_back(settlement.point);
    }
    const dispatch::CoverSettings settings;
    const auto table = dispatch::reach_of(situation, points, answer.open.vehicles, settings.within);
    const auto idle = idle_vehicles(situation, answer.open);
    constexpr double seconds_per_hour = 3600;
    const double busy =
        dispatch::busy_share(calls_per_hour(settlements),
                             static_cast<double>(settings.mission.count()) / seconds_per_hour,
                             answer.open.vehicles.size());
    return dispatch::cover_report(zones, table, idle, newly_sent(answer, idle), busy);
}

}  // namespace

OpenPlanAnswer answer_open_plan(const Snapshot& snapshot, const Records& records,
                                const Caller& caller, const OpenPlanRequest& request, Instant now) {
    OpenPlanAnswer answer;
    answer.as_of = records.sequence();  // first: what is read later may only be newer
    answer.open =
        open_transport(snapshot, live_of_world(records, caller), records.vehicle_reports(), now);
    PlannedRoads planned_roads(snapshot, now);
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
    answer.cover = cover_of(snapshot, situation, answer);
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
    PlannedRoads roads(snapshot, now);
    dispatch::PlanRequest asked{referrals, vehicles};
    asked.promises = decided;
    asked.most_changed_promises = 0;
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
