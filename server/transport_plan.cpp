#include "server/transport_plan.hpp"

#include <list>

#include "dispatch/vehicle_file.hpp"
#include "server/answer.hpp"
#include "server/json/transport_plan.hpp"
#include "server/program_files.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// Takes one of the routers that may search at once for each question and gives it back, so that a
/// planning, which needs several kinds, never holds more than one.
class LentRouter final : public routing::Router {
public:
    LentRouter(const Roads& roads, const WayKind& kind, Instant at)
        : roads_(roads), kind_(kind), at_(at) {}

    std::vector<std::optional<routing::TravelTime>> travel_times(
        const routing::Departure& departure, std::span<const routing::Snap> targets,
        Seconds limit) override {
        return roads_.lend(kind_, at_).router().travel_times(departure, targets, limit);
    }
    std::optional<routing::Route> route(const routing::Departure& departure,
                                        const routing::Snap& target) override {
        return roads_.lend(kind_, at_).router().route(departure, target);
    }
    std::optional<routing::Route> route_around(const routing::Departure& departure,
                                               const routing::Snap& target,
                                               std::span<const routing::PieceId> avoided) override {
        return roads_.lend(kind_, at_).router().route_around(departure, target, avoided);
    }
    std::vector<routing::Nearest> nearest(const routing::Departure& departure,
                                          std::span<const routing::Snap> targets, std::size_t count,
                                          Seconds limit,
                                          const routing::ReadyAfter& ready_after) override {
        return roads_.lend(kind_, at_)
            .router()
            .nearest(departure, targets, count, limit, ready_after);
    }

private:
    const Roads& roads_;
    WayKind kind_;
    Instant at_;
};

/// The snapshot's roads for one planning.
class PlannedRoads final : public dispatch::DistrictRoads {
public:
    PlannedRoads(const Snapshot& snapshot, Instant now) : snapshot_(snapshot), now_(now) {}

    dispatch::RoadsOf roads(routing::Means means, Instant departs) override {
        Kind& kind = kind_of(means, departs);
        return {&kind.router, kind.metric, kind.facility_snaps};
    }
    std::optional<routing::Snap> snap(const GeoPoint& point, routing::Means means,
                                      Instant departs) override {
        return snapshot_.roads->lend(kind_of(means, departs).kind, now_).snap(point);
    }
    std::optional<Instant> dawn_after(Instant now) override {
        const auto is_light = [&](Instant at) {
            return expected_conditions(snapshot_.district, snapshot_.zone, at).light ==
                   routing::Light::day;
        };
        for (Instant at = now; !is_light(now) && at < now + 24h; at += 1min) {
            if (is_light(at)) {
                return at;
            }
        }
        return std::nullopt;
    }

private:
    struct Kind {
        WayKind kind;
        LentRouter router;
        std::shared_ptr<const routing::Metric> metric;
        std::vector<std::optional<routing::Snap>> facility_snaps;
    };
    Kind& kind_of(routing::Means means, Instant departs) {
        const WayKind wanted{means,
                             expected_conditions(snapshot_.district, snapshot_.zone, departs)};
        for (Kind& known : kinds_) {
            if (known.kind == wanted) {
                return known;
            }
        }
        const Roads::Lease lease = snapshot_.roads->lend(wanted, now_);
        kinds_.push_back({wanted, LentRouter(*snapshot_.roads, wanted, now_), lease.metric(),
                          lease.facility_snaps()});
        return kinds_.back();
    }

    const Snapshot& snapshot_;
    Instant now_;
    /// A list: who was given one keeps it while others are added.
    std::list<Kind> kinds_;
};

/// As the district's file lists them; none where it has no such file.
std::vector<dispatch::Vehicle> vehicles_of(const Snapshot& snapshot) {
    const auto named = snapshot.district.files.find("vehicles");
    if (named == snapshot.district.files.end()) {
        return {};
    }
    return dispatch::read_vehicles(read_program_file(snapshot.folder / named->second));
}

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

void check_vehicles(const Snapshot& snapshot, PlannedRoads& roads,
                    std::span<const dispatch::Vehicle> vehicles, Instant now) {
    const dispatch::IsOnTheMap on_the_map = [&](const dispatch::Base& base, routing::Means means) {
        const auto* facility = std::get_if<FacilityId>(&base);
        if (facility == nullptr) {
            return roads.snap(std::get<GeoPoint>(base), means, now).has_value();
        }
        const facilities::Facility* known = snapshot.facilities.find_facility(*facility);
        return known != nullptr && roads.snap(known->point, means, now).has_value();
    };
    auto problems = dispatch::problems_of(vehicles, on_the_map, now);
    if (!problems.empty()) {
        const std::string what = std::to_string(problems.size()) + " problems in the vehicles";
        throw InputError(what, std::move(problems));
    }
}

}  // namespace

TransportPlanAnswer answer_transport_plan(const Snapshot& snapshot,
                                          const TransportPlanRequest& request, Instant now) {
    TransportPlanAnswer answer;
    answer.made_at = now;
    answer.vehicles = request.vehicles ? *request.vehicles : vehicles_of(snapshot);
    PlannedRoads roads(snapshot, now);
    check_vehicles(snapshot, roads, answer.vehicles, now);
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
