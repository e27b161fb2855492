#include "server/transport_plan.hpp"

#include "dispatch/remembered_roads.hpp"
#include "server/answer.hpp"
#include "server/json/transport_plan.hpp"
#include "server/planned_roads.hpp"
#include "server/vehicles.hpp"

namespace waybourne::server {

namespace {

dispatch::OpenReferral open_referral(const Snapshot& snapshot, const ReferralToCarry& given,
                                     Instant now) {
    dispatch::OpenReferral referral;
    referral.id = given.id;
    referral.assessment = answer_assessment(snapshot, given.request.findings, now);
    if (const auto* facility = std::get_if<FacilityId>(&given.request.from)) {
        referral.at = snapshot.facilities.facility(*facility).point;
        referral.at_facility = *facility;
    } else {
        referral.at = std::get<GeoPoint>(given.request.from);
    }
    if (given.has_own_transport) {
        referral.own_transport = given.request.transport.means;
        referral.own_ready_in = given.request.transport.ready_in;
    }
    referral.can_sit = given.can_sit;
    referral.can_phone = given.request.can_phone;
    referral.calls = given.request.calls;
    return referral;
}

}  // namespace

TransportPlanAnswer answer_transport_plan(const Snapshot& snapshot,
                                          const TransportPlanRequest& request, Instant now) {
    TransportPlanAnswer answer;
    answer.made_at = now;
    answer.vehicles = request.vehicles ? *request.vehicles : snapshot.vehicles;
    PlannedRoads planned_roads(snapshot);
    check_vehicles(snapshot, planned_roads, answer.vehicles, now);
    dispatch::RememberedRoads roads(planned_roads);
    std::vector<dispatch::OpenReferral> referrals;
    for (const ReferralToCarry& given : request.referrals) {
        referrals.push_back(open_referral(snapshot, given, now));
    }
    const dispatch::DispatchSituation situation{snapshot.facilities, roads, snapshot.zone,
                                                snapshot.settings,   {},    now};
    dispatch::PlanRequest planned{referrals, answer.vehicles};
    planned.promises = request.promises;
    planned.most_changed_promises = request.most_changed_promises;
    planned.decided = request.decided;
    answer.plan = dispatch::plan_transport(situation, planned);
    if (referrals.size() == 1) {
        answer.ways = dispatch::compare_ways(situation, referrals.front(), answer.vehicles);
    }
    answer.cover =
        find_cover(snapshot, situation, answer.vehicles, request.promises, answer.plan.carried);
    return answer;
}

std::string transport_plan_json(const Snapshot& snapshot, const TransportPlanRequest& request,
                                Instant now) {
    const TransportPlanAnswer answer = answer_transport_plan(snapshot, request, now);
    const Words words{snapshot.catalogue, snapshot.zone, now};
    JsonWriter json;
    write_transport_plan(json, answer, snapshot, words);
    return json.take();
}

}  // namespace waybourne::server
