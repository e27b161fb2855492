#include "dispatch/internal/options.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "dispatch/internal/ways.hpp"
#include "dispatch/tour.hpp"
#include "referral/call_order.hpp"
#include "referral/staged.hpp"

namespace waybourne::dispatch {

namespace {

Cost cost_of_plan(const referral::Plan& plan) {
    return cost_of(plan.merits.lateness, plan.merits.last_need_after);
}

/// One planning's options, gathered.
class Gathering {
public:
    Gathering(const DispatchSituation& situation, const PlanRequest& request)
        : situation_(situation), request_(request), best_(request.referrals.size()) {
        options_.problem.women = request.referrals.size();
        options_.problem.vehicles = request.vehicles.size();
    }

    Options run() {
        for (std::size_t woman = 0; woman < request_.referrals.size(); ++woman) {
            add_own(woman);
        }
        for (std::size_t vehicle = 0; vehicle < request_.vehicles.size(); ++vehicle) {
            ask_ahead(request_.vehicles[vehicle]);
            for (std::size_t woman = 0; woman < request_.referrals.size(); ++woman) {
                add_vehicle(woman, vehicle);
            }
            add_pairs(vehicle);
            add_tours(vehicle);
        }
        for (std::size_t woman = 0; woman < request_.referrals.size(); ++woman) {
            const bool is_late = best_[woman] && lateness_in(*best_[woman]) > 0;
            if (is_late || wants_two_vehicles(woman)) {
                add_rendezvous(woman);
            }
        }
        keep_those_aboard();
        return std::move(options_);
    }

private:
    const OpenReferral& woman(std::size_t index) const { return request_.referrals[index]; }
    const Promise* promise_of(std::size_t index) const {
        const auto found = std::find_if(
            request_.promises.begin(), request_.promises.end(),
            [&](const Promise& promise) { return promise.referral == woman(index).id; });
        return found == request_.promises.end() ? nullptr : &*found;
    }
    std::vector<VehicleId> ids_of(const std::vector<std::size_t>& vehicles) const {
        std::vector<VehicleId> ids;
        ids.reserve(vehicles.size());
        for (const std::size_t vehicle : vehicles) {
            ids.push_back(request_.vehicles[vehicle].id);
        }
        return ids;
    }
    bool is_decided(std::size_t index, const std::vector<std::size_t>& vehicles) const {
        const auto& decided = request_.decided;
        return decided && decided->referral == woman(index).id &&
               decided->vehicles == ids_of(vehicles);
    }
    /// She was promised a rendezvous, or somebody decides on one: it is looked at whatever it
    /// saves.
    bool wants_two_vehicles(std::size_t index) const {
        const auto& decided = request_.decided;
        const Promise* const promise = promise_of(index);
        return (promise != nullptr && promise->vehicles.size() == 2) ||
               (decided && decided->referral == woman(index).id && decided->vehicles.size() == 2);
    }
    bool is_promised(const std::vector<std::size_t>& women,
                     const std::vector<std::size_t>& vehicles) const {
        const std::vector<VehicleId> ids = ids_of(vehicles);
        return std::all_of(women.begin(), women.end(), [&](std::size_t index) {
            const Promise* const promise = promise_of(index);
            return promise != nullptr && promise->vehicles == ids;
        });
    }
    void add(std::vector<std::size_t> women, std::vector<std::size_t> vehicles, Cost cost,
             std::optional<Way> way = std::nullopt) {
        for (const std::size_t index : women) {
            if (women.size() == 1 && (!best_[index] || cost < *best_[index])) {
                best_[index] = cost;
            }
        }
        const bool promised = is_promised(women, vehicles);
        options_.problem.options.push_back({std::move(women), std::move(vehicles), cost, promised});
        options_.ways.push_back(std::move(way));
    }
    void add_own(std::size_t index) {
        const OpenReferral& referral = woman(index);
        const Cost waiting = cost_of_waiting(situation_, referral);
        if (referral.own_transport) {
            Way way = own_way(situation_, referral, situation_.now);
            if (way.is_possible()) {
                const Cost cost = cost_of(way.recommendation.chosen->lateness,
                                          way.recommendation.chosen->last_need_after);
                add({index}, {}, std::min(cost, waiting), std::move(way));
                return;
            }
        }
        add({index}, {}, waiting);
    }
    /// From where the vehicle stands to every woman, in one search.
    void ask_ahead(const Vehicle& vehicle) {
        const Availability free =
            availability(vehicle, situation_.zone, situation_.now, situation_.settings.vehicles);
        if (!free.from) {
            return;
        }
        const Instant sets_out = sets_out_at(situation_, vehicle, *free.from);
        std::vector<Message> unused;
        const auto from = place_of(situation_, vehicle, sets_out, unused);
        std::vector<routing::Snap> all;
        for (const OpenReferral& referral : request_.referrals) {
            if (auto her = her_place(situation_, referral, vehicle.means, sets_out)) {
                all.push_back(*std::move(her));
            }
        }
        if (from) {
            situation_.roads.roads(vehicle.means, sets_out)
                .router->travel_times({*from, sets_out}, all, situation_.choice.search_limit);
        }
    }
    /// When the vehicle leaves with her; none where it cannot come.
    std::optional<Instant> leaves_with(std::size_t index, const Vehicle& vehicle) const {
        const auto approached = approach_of(situation_, woman(index), vehicle, situation_.now);
        if (!approached.approach) {
            return std::nullopt;
        }
        return approached.approach->sets_out + approached.approach->travel_time.allow +
               loading_of(situation_, woman(index));
    }
    void add_vehicle(std::size_t index, std::size_t number) {
        const Vehicle& vehicle = request_.vehicles[number];
        const auto leaves = leaves_with(index, vehicle);
        const auto her =
            leaves ? her_place(situation_, woman(index), vehicle.means, *leaves) : std::nullopt;
        if (!her) {
            return;
        }
        if (const auto plan = best_plan(situation_, woman(index), vehicle.means, *her, *leaves)) {
            add({index}, {number}, cost_of_plan(*plan));
        }
    }
    void add_pairs(std::size_t number) {
        const Vehicle& vehicle = request_.vehicles[number];
        for (std::size_t first = 0; first < request_.referrals.size(); ++first) {
            for (std::size_t second = 0; second < request_.referrals.size(); ++second) {
                if (first != second && has_room_for(vehicle, {first, second})) {
                    add_pair(first, second, number);
                }
            }
        }
    }
    /// The first woman, then the second, then one place that meets all in time.
    void add_pair(std::size_t first, std::size_t second, std::size_t number) {
        const Vehicle& vehicle = request_.vehicles[number];
        const auto picked_up = leaves_with(first, vehicle);
        if (!picked_up) {
            return;
        }
        const auto from = her_place(situation_, woman(first), vehicle.means, *picked_up);
        const auto to = her_place(situation_, woman(second), vehicle.means, *picked_up);
        if (!from || !to) {
            return;
        }
        const auto between =
            situation_.roads.roads(vehicle.means, *picked_up)
                .router
                ->travel_times({*from, *picked_up}, std::array{*to}, situation_.choice.search_limit)
                .front();
        if (!between) {
            return;
        }
        const Instant leaves = *picked_up + between->allow + loading_of(situation_, woman(second));
        const auto one = best_plan(situation_, woman(first), vehicle.means, *to, leaves);
        const auto other = best_plan(situation_, woman(second), vehicle.means, *to, leaves);
        const auto suits = [](const std::optional<referral::Plan>& plan) {
            return plan && plan->stops.size() == 1 && plan->unmet.empty() &&
                   plan->merits.lateness <= 0;
        };
        if (suits(one) && suits(other) && one->last_place() == other->last_place()) {
            add({first, second}, {number}, cost_of_plan(*one) + cost_of_plan(*other));
        }
    }
    /// Needs are far enough away that she can wait for others to be fetched.
    bool can_join_a_tour(std::size_t index) const {
        const auto& needs = woman(index).assessment.needs;
        return std::all_of(needs.begin(), needs.end(), [&](const triage::Need& need) {
            return need.available_here || !need.deadline ||
                   *need.deadline >= situation_.now + situation_.settings.tour_needs_at_least;
        });
    }
    bool has_room_for(const Vehicle& vehicle, const std::vector<std::size_t>& women) const {
        const auto lying = std::count_if(women.begin(), women.end(),
                                         [&](std::size_t index) { return !woman(index).can_sit; });
        return vehicle.seats.lying >= lying &&
               vehicle.seats.lying + vehicle.seats.sitting >= static_cast<long>(women.size());
    }
    /// When the vehicle leaves with `to`, whom it fetches after `from`; by `allow`.
    std::optional<Instant> leaves_with_next(const Vehicle& vehicle, std::size_t from,
                                            std::size_t to, Instant at) const {
        const auto here = her_place(situation_, woman(from), vehicle.means, at);
        const auto there = her_place(situation_, woman(to), vehicle.means, at);
        if (!here || !there) {
            return std::nullopt;
        }
        const auto takes =
            situation_.roads.roads(vehicle.means, at)
                .router
                ->travel_times({*here, at}, std::array{*there}, situation_.choice.search_limit)
                .front();
        return takes ? std::optional(at + takes->allow + loading_of(situation_, woman(to)))
                     : std::nullopt;
    }
    /// Those that a vehicle fetches soonest of all who can join a tour.
    std::vector<std::pair<Instant, std::size_t>> first_of_tours(const Vehicle& vehicle) const {
        std::vector<std::pair<Instant, std::size_t>> first;
        for (std::size_t index = 0; index < request_.referrals.size(); ++index) {
            const auto leaves = can_join_a_tour(index) ? leaves_with(index, vehicle) : std::nullopt;
            if (leaves) {
                first.emplace_back(*leaves, index);
            }
        }
        std::sort(first.begin(), first.end());
        first.resize(std::min(first.size(), situation_.settings.most_looked_at));
        return first;
    }
    /// One place that meets all that everybody needs, in time for each; none where there is none.
    std::optional<Cost> cost_of_tour(const Vehicle& vehicle, const std::vector<std::size_t>& women,
                                     Instant leaves) const {
        const auto from = her_place(situation_, woman(women.back()), vehicle.means, leaves);
        Cost cost = 0;
        std::optional<std::size_t> place;
        for (const std::size_t index : women) {
            const auto plan =
                from ? best_plan(situation_, woman(index), vehicle.means, *from, leaves)
                     : std::nullopt;
            const bool suits = plan && plan->stops.size() == 1 && plan->unmet.empty() &&
                               plan->merits.lateness <= 0;
            if (!suits || (place && *place != plan->last_place())) {
                return std::nullopt;
            }
            place = plan->last_place();
            cost += cost_of_plan(*plan);
        }
        return cost;
    }
    /// More than two women, each set in its best order.
    void add_tours(std::size_t number) {
        const Vehicle& vehicle = request_.vehicles[number];
        constexpr int pair = 2;
        if (vehicle.seats.lying + vehicle.seats.sitting <= pair) {
            return;
        }
        const auto looked_at = first_of_tours(vehicle);
        std::vector<std::optional<Instant>> first;
        first.reserve(looked_at.size());
        for (const auto& one : looked_at) {
            first.emplace_back(one.first);
        }
        const auto next = [&](std::size_t from, std::size_t to, Instant at) {
            return leaves_with_next(vehicle, looked_at[from].second, looked_at[to].second, at);
        };
        std::map<std::vector<std::size_t>, std::pair<Cost, std::vector<std::size_t>>> best;
        for (const Tour& tour : soonest_tours(first, next, situation_.settings.most_on_tour)) {
            std::vector<std::size_t> women;
            for (const std::size_t each : tour.order) {
                women.push_back(looked_at[each].second);
            }
            if (women.size() <= pair || !has_room_for(vehicle, women)) {
                continue;
            }
            const auto cost = cost_of_tour(vehicle, women, tour.leaves);
            std::vector<std::size_t> set = women;
            std::sort(set.begin(), set.end());
            const auto known = best.find(set);
            if (cost && (known == best.end() || *cost < known->second.first)) {
                best.insert_or_assign(set, std::pair{*cost, women});
            }
        }
        for (const auto& [set, tour] : best) {
            add(tour.second, {number}, tour.first);
        }
    }
    void add_rendezvous(std::size_t index) {
        std::vector<Way> firsts;
        std::vector<std::optional<std::size_t>> numbers;
        if (woman(index).own_transport) {
            firsts.push_back(own_way(situation_, woman(index), situation_.now));
            numbers.emplace_back();
        }
        for (std::size_t number = 0; number < request_.vehicles.size(); ++number) {
            const Vehicle& vehicle = request_.vehicles[number];
            if (is_at(situation_, vehicle, woman(index)) || vehicle.means == routing::Means::boat) {
                firsts.push_back(vehicle_way(situation_, woman(index), vehicle, situation_.now));
                numbers.emplace_back(number);
            }
        }
        for (std::size_t first = 0; first < firsts.size(); ++first) {
            if (firsts[first].leaves.allow != Instant{}) {
                add_meetings(index, firsts[first], numbers[first]);
            }
        }
    }
    /// On the way to where the first would bring her, or at a landing.
    std::optional<Way> meeting(std::size_t index, const Way& first, const Vehicle* first_vehicle,
                               const Vehicle& second) const {
        if (first.is_possible()) {
            const std::size_t place =
                situation_.facilities.position(first.recommendation.chosen->stages.back().facility);
            auto way =
                rendezvous_way(situation_, woman(index), first, first_vehicle, second, place);
            if (way) {
                return way;
            }
        }
        return landing_way(situation_, woman(index), first, first_vehicle, second);
    }
    void add_meetings(std::size_t index, const Way& first, std::optional<std::size_t> number) {
        for (std::size_t second = 0; second < request_.vehicles.size(); ++second) {
            if (second == number) {
                continue;
            }
            auto way = meeting(index, first, number ? &request_.vehicles[*number] : nullptr,
                               request_.vehicles[second]);
            if (!way) {
                continue;
            }
            const referral::Choice& choice = *way->recommendation.chosen;
            const Cost cost = cost_of(choice.lateness, choice.last_need_after);
            std::vector<std::size_t> vehicles{second};
            if (number) {
                vehicles.insert(vehicles.begin(), *number);
            }
            const bool pays = cost + situation_.settings.rendezvous_saves.count() <= *best_[index];
            if (pays || is_decided(index, vehicles) || is_promised({index}, vehicles)) {
                options_.problem.options.push_back(
                    {{index}, vehicles, cost, is_promised({index}, vehicles)});
                options_.ways.emplace_back(std::move(way));
            }
        }
    }
    /// Nobody else gets a vehicle that has a woman on board, and she nothing else.
    void keep_those_aboard() {
        for (const Promise& promise : request_.promises) {
            if (!promise.is_aboard) {
                continue;
            }
            for (TransportOption& one : options_.problem.options) {
                const bool is_hers = std::any_of(
                    one.women.begin(), one.women.end(),
                    [&](std::size_t index) { return woman(index).id == promise.referral; });
                const bool uses_it =
                    std::any_of(one.vehicles.begin(), one.vehicles.end(), [&](std::size_t vehicle) {
                        return std::find(promise.vehicles.begin(), promise.vehicles.end(),
                                         request_.vehicles[vehicle].id) != promise.vehicles.end();
                    });
                const bool is_waiting = one.vehicles.empty();
                if (!is_waiting && is_hers != uses_it) {
                    one.women.clear();
                } else if (is_hers && is_waiting && !promise.vehicles.empty()) {
                    // Kept so that a plan exists, but dearer than all others together.
                    constexpr Cost never = Cost{1} << 54;
                    one.cost = std::max(one.cost, never);
                }
            }
        }
        for (std::size_t option = options_.problem.options.size(); option-- > 0;) {
            if (options_.problem.options[option].women.empty()) {
                const auto at = static_cast<std::ptrdiff_t>(option);
                options_.problem.options.erase(options_.problem.options.begin() + at);
                options_.ways.erase(options_.ways.begin() + at);
            }
        }
    }

    const DispatchSituation& situation_;
    const PlanRequest& request_;
    Options options_;
    /// The cheapest way of each woman that uses at most one vehicle.
    std::vector<std::optional<Cost>> best_;
};

}  // namespace

std::optional<referral::Plan> best_plan(const DispatchSituation& situation,
                                        const OpenReferral& referral, routing::Means means,
                                        const routing::Snap& from, Instant leaves) {
    const RoadsOf roads = situation.roads.roads(means, leaves);
    const referral::Start start = start_of(situation, referral, means, from, leaves);
    referral::Situation one =
        referral::situation_of(referral.assessment, situation.facilities, roads.facility_snaps,
                               start, situation.choice, situation.now);
    one.reasons = facilities::Reasons::left_out;
    referral::Ways ways(*roads.router, one);
    std::vector<referral::Plan> plans = referral::single_plans(one, ways);
    const auto mark = referral::mark_of(plans);
    auto pairs = referral::staged_plans(one, ways, plans, mark);
    std::move(pairs.begin(), pairs.end(), std::back_inserter(plans));
    if (plans.empty()) {
        return std::nullopt;
    }
    return referral::who_leads(one, ways, plans, [](const referral::Plan&) { return 0; }).plan;
}

Cost cost_of_waiting(const DispatchSituation& situation, const OpenReferral& referral) {
    const Instant never = situation.now + situation.choice.unmet_after;
    double lateness = 0;
    for (const triage::Need& need : referral.assessment.needs) {
        if (!need.available_here && need.deadline) {
            const Seconds within =
                need.within.value_or(*need.deadline - referral.assessment.assessed_at);
            lateness += referral::lateness_of(need.critical, never - *need.deadline, within,
                                              situation.choice);
        }
    }
    return cost_of(lateness, situation.choice.unmet_after);
}

Options options_of(const DispatchSituation& situation, const PlanRequest& request) {
    return Gathering(situation, request).run();
}

}  // namespace waybourne::dispatch
