#include "referral/call_order.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace waybourne::referral {

namespace {

/// How many places are phoned one after the other before she goes anyway. A proposal.
constexpr std::size_t calls_in_a_row = 3;

std::vector<std::size_t> places_to_call(const Plan& plan) {
    std::vector<std::size_t> places;
    for (const Stop& stop : plan.stops) {
        if (stop.is_unconfirmed()) {
            places.push_back(stop.place);
        }
    }
    return places;
}

bool touches(const Plan& plan, const std::vector<std::size_t>& places) {
    return std::any_of(places.begin(), places.end(),
                       [&](std::size_t place) { return plan.has_stop_at(place); });
}

bool can_phone_all(const Situation& situation, const std::vector<std::size_t>& places) {
    return std::all_of(places.begin(), places.end(),
                       [&](std::size_t place) { return situation.can_phone(place); });
}

/// Whether `other` leaves a critical need unmet that `plan` meets.
bool lacks_critical(const Situation& situation, const Plan& other, const Plan& plan) {
    return std::any_of(other.unmet.begin(), other.unmet.end(), [&](std::size_t need) {
        return situation.need(need).critical &&
               std::find(plan.unmet.begin(), plan.unmet.end(), need) == plan.unmet.end();
    });
}

/// @param sure the situation in which only what is confirmed counts
std::optional<Plan> best_confirmed(const Situation& sure, Ways& ways, const Plan& leading,
                                   const ChangesOfVehicle& changes) {
    const auto to_call = places_to_call(leading);
    const auto rests_on_a_call = [&](const Plan& plan) { return touches(plan, to_call); };
    std::vector<Plan> plans = single_plans(sure, ways);
    std::erase_if(plans, rests_on_a_call);
    std::vector<Plan> pairs = staged_plans(sure, ways, plans, mark_of(plans));
    std::erase_if(pairs, rests_on_a_call);
    std::move(pairs.begin(), pairs.end(), std::back_inserter(plans));
    std::vector<std::size_t> among = taking_part(plans, *sure.settings);
    std::erase_if(among,
                  [&](std::size_t index) { return lacks_critical(sure, plans[index], leading); });
    const auto best = best_of(plans, std::move(among), *sure.settings, changes);
    return best ? std::optional{plans[*best]} : std::nullopt;
}

bool is_as_good_after_the_wait(const Situation& sure, Ways& ways, const Plan& plan) {
    const auto then = replanned(delayed(sure, sure.settings->call_wait), ways, plan);
    return then && then->merits.unmet_critical <= plan.merits.unmet_critical &&
           then->unmet.size() <= plan.unmet.size() &&
           then->merits.lateness <= plan.merits.lateness + sure.settings->lateness_tolerance;
}

void add_calls(const Situation& situation, const Plan& plan, const std::optional<Plan>& next,
               std::vector<CallFirst>& calls) {
    for (const std::size_t place : places_to_call(plan)) {
        CallFirst call{.facility = situation.place(place).id,
                       .wait = situation.settings->call_wait,
                       .if_declined = std::nullopt};
        if (next) {
            call.if_declined = next->merits.places.front();
        }
        calls.push_back(std::move(call));
    }
}

/// One place after the other is phoned until one is confirmed already.
std::vector<CallFirst> calls_in_order(const Situation& situation, std::span<const Plan> plans,
                                      const Plan& leading, const ChangesOfVehicle& changes) {
    std::vector<CallFirst> calls;
    std::vector<std::size_t> called;
    Plan current = leading;
    while (calls.size() < calls_in_a_row) {
        const auto places = places_to_call(current);
        called.insert(called.end(), places.begin(), places.end());
        std::vector<std::size_t> among = taking_part(plans, *situation.settings);
        std::erase_if(among, [&](std::size_t index) { return touches(plans[index], called); });
        const auto next_index = best_of(plans, std::move(among), *situation.settings, changes);
        const auto next = next_index ? std::optional{plans[*next_index]} : std::nullopt;
        add_calls(situation, current, next, calls);
        if (!next || !next->is_unconfirmed() || !can_phone_all(situation, places_to_call(*next))) {
            break;
        }
        current = *next;
    }
    return calls;
}

}  // namespace

Lead who_leads(const Situation& situation, Ways& ways, std::span<const Plan> plans,
               const ChangesOfVehicle& changes) {
    const auto best =
        best_of(plans, taking_part(plans, *situation.settings), *situation.settings, changes);
    Lead lead{.plan = plans[best.value()]};
    if (!lead.plan.is_unconfirmed()) {
        return lead;
    }
    const bool can_phone = can_phone_all(situation, places_to_call(lead.plan));
    const Situation sure = only_confirmed(situation);
    auto confirmed = best_confirmed(sure, ways, lead.plan, changes);
    if (confirmed && can_phone && is_as_good_after_the_wait(sure, ways, *confirmed)) {
        add_calls(situation, lead.plan, confirmed, lead.calls);
        lead.behind = std::move(confirmed);
    } else if (confirmed) {
        lead.behind = std::exchange(lead.plan, std::move(*confirmed));
        lead.leads_as_confirmed = true;
    } else if (can_phone) {
        lead.calls = calls_in_order(situation, plans, lead.plan, changes);
    } else {
        lead.could_not_be_asked = true;
    }
    return lead;
}

}  // namespace waybourne::referral
