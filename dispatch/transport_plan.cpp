#include "dispatch/transport_plan.hpp"

#include <algorithm>

#include "dispatch/internal/options.hpp"
#include "dispatch/internal/stretches.hpp"
#include "dispatch/internal/ways.hpp"
#include "dispatch/remembered_roads.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

std::vector<VehicleId> ids_of(const PlanRequest& request, const TransportOption& option) {
    std::vector<VehicleId> ids;
    for (const std::size_t vehicle : option.vehicles) {
        ids.push_back(request.vehicles[vehicle].id);
    }
    return ids;
}

std::size_t index_of(const PlanRequest& request, const ReferralId& id) {
    const auto found =
        std::find_if(request.referrals.begin(), request.referrals.end(),
                     [&](const OpenReferral& referral) { return referral.id == id; });
    if (found == request.referrals.end()) {
        throw InputError("no open referral is called '" + id.value() + "'");
    }
    return static_cast<std::size_t>(found - request.referrals.begin());
}

/// The option that a person has decided.
std::size_t decided_option(const PlanRequest& request, const AssignmentProblem& problem,
                           const Promise& decided) {
    const std::size_t woman = index_of(request, decided.referral);
    for (std::size_t index = 0; index < problem.options.size(); ++index) {
        const TransportOption& option = problem.options[index];
        if (option.women == std::vector{woman} && ids_of(request, option) == decided.vehicles) {
            return index;
        }
    }
    throw InputError("what was decided for '" + decided.referral.value() + "' is not possible now");
}

/// One vehicle fetches one woman after the other: from the last of them the way is that of all.
Way way_of_tour(const DispatchSituation& situation, const PlanRequest& request,
                const TransportOption& option, std::size_t woman) {
    const Vehicle& vehicle = request.vehicles[option.vehicles.front()];
    const OpenReferral& first = request.referrals[option.women.front()];
    Way way = vehicle_way(situation, first, vehicle, situation.now);
    const auto with_first = way.with_her;
    way.against = {};
    way.takes_a_ferry = false;  // of the way that all go on together
    auto here = her_place(situation, first, vehicle.means, way.leaves.allow);
    routing::TravelTime last_stretch;
    for (std::size_t stop = 1; stop < option.women.size(); ++stop) {
        const OpenReferral& next = request.referrals[option.women[stop]];
        const Instant departs = way.leaves.allow;
        const auto there = her_place(situation, next, vehicle.means, departs);
        last_stretch =
            *situation.roads.roads(vehicle.means, departs)
                 .router
                 ->travel_times({*here, departs}, {&*there, 1}, situation.choice.search_limit)
                 .front();
        const referral::Expected with_next{way.leaves.typical + last_stretch.typical,
                                           way.leaves.allow + last_stretch.allow};
        if (option.women[stop] == woman) {
            way.with_her = with_next;
        }
        const Seconds loading = loading_of(situation, next);
        way.leaves = {with_next.typical + loading, with_next.allow + loading};
        here = there;
    }
    if (option.women.front() == woman) {
        way.with_her = with_first;
    }
    if (option.women.size() > 2) {
        const auto stop = std::find(option.women.begin(), option.women.end(), woman);
        way.remarks.push_back({"dispatch.fetched_on_a_tour",
                               {{"number", std::to_string(stop - option.women.begin() + 1)},
                                {"count", std::to_string(option.women.size())}}});
    }
    set_onward(situation, request.referrals[woman], vehicle.means, *here, last_stretch, way);
    drop_shift_end(way);
    remark_shift_end(situation, vehicle, *way.sets_out, way.arrives.allow, way);
    return way;
}

Way way_of(const DispatchSituation& situation, const PlanRequest& request, const Options& options,
           std::size_t index, std::size_t woman) {
    const TransportOption& option = options.problem.options[index];
    if (options.ways[index]) {
        return *options.ways[index];
    }
    if (option.women.size() > 1) {
        return way_of_tour(situation, request, option, woman);
    }
    if (!option.vehicles.empty()) {
        return vehicle_way(situation, request.referrals[woman],
                           request.vehicles[option.vehicles.front()], situation.now);
    }
    Way waits;
    waits.against = {{"dispatch.nobody_can_fetch_her"}};
    return waits;
}

const TransportOption* promised_option(const AssignmentProblem& problem, std::size_t woman) {
    for (const TransportOption& option : problem.options) {
        const bool carries =
            std::find(option.women.begin(), option.women.end(), woman) != option.women.end();
        if (carries && option.is_promised) {
            return &option;
        }
    }
    return nullptr;
}

/// Why she is given something else than she was promised.
Message why_changed(const AssignmentProblem& problem, const TransportOption& option,
                    std::size_t woman) {
    const TransportOption* const promised = promised_option(problem, woman);
    if (promised == nullptr) {
        return {"dispatch.promise_cannot_be_kept"};
    }
    const Cost gain = promised->cost - option.cost;
    if (gain > 0) {
        const auto minutes = ceil_minutes(seconds_in(gain)).count();
        return lateness_in(gain) > 0 ? Message{"dispatch.changed_for_her_deadline"}
                                     : Message{"dispatch.changed_to_be_sooner",
                                               {{"minutes", std::to_string(minutes)}}};
    }
    return {"dispatch.changed_for_another"};
}

void add_carried(const DispatchSituation& situation, const PlanRequest& request,
                 const Options& options, const std::vector<std::size_t>& chosen,
                 TransportPlan& plan) {
    plan.carried.resize(request.referrals.size());
    for (const std::size_t index : chosen) {
        const TransportOption& option = options.problem.options[index];
        for (const std::size_t woman : option.women) {
            Carried& carried = plan.carried[woman];
            carried.referral = request.referrals[woman].id;
            carried.way = way_of(situation, request, options, index, woman);
            if (option.women.size() > 1) {
                for (const std::size_t one : option.women) {
                    carried.tour.push_back(request.referrals[one].id);
                }
                const auto at = std::find(option.women.begin(), option.women.end(), woman);
                const bool is_last = at + 1 == option.women.end();
                carried.rides_with = request.referrals[is_last ? *(at - 1) : *(at + 1)].id;
            }
            if (request.with_stretches) {
                carried.before = stretches_before(situation, request, carried);
            }
            const auto promise =
                std::find_if(request.promises.begin(), request.promises.end(),
                             [&](const Promise& one) { return one.referral == carried.referral; });
            if (promise != request.promises.end() && promise->vehicles != ids_of(request, option)) {
                plan.changed.push_back({carried.referral, promise->vehicles,
                                        ids_of(request, option),
                                        why_changed(options.problem, option, woman)});
            }
        }
    }
}

}  // namespace

TransportPlan plan_transport(const DispatchSituation& given, const PlanRequest& request) {
    for (const Promise& promise : request.promises) {
        index_of(request, promise.referral);
    }
    RememberedRoads remembered(given.roads);
    const DispatchSituation situation{given.facilities, remembered,     given.zone,
                                      given.choice,     given.settings, given.now};
    Options options = options_of(situation, request);
    options.problem.most_changed_promises = request.most_changed_promises;
    TransportPlan plan;
    AssignmentPlan chosen;
    if (request.decided) {
        const Override forced = with_forced(
            options.problem, decided_option(request, options.problem, *request.decided));
        chosen = forced.plan;
        plan.decision_costs_more = forced.costs_more;
    } else {
        chosen = assign(options.problem);
    }
    plan.cost = chosen.cost;
    plan.is_optimal = chosen.is_optimal;
    add_carried(situation, request, options, chosen.chosen, plan);
    return plan;
}

}  // namespace waybourne::dispatch
