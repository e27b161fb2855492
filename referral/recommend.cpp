#include "referral/recommend.hpp"

#include <algorithm>
#include <tuple>

#include "referral/call_order.hpp"
#include "referral/passed_over.hpp"
#include "referral/wording.hpp"
#include "referral/write_out.hpp"

namespace waybourne::referral {

namespace {

std::string minutes(Seconds span) {
    return std::to_string(ceil_minutes(span).count());
}

/// All plans that take part; singles first.
std::vector<Plan> plans_of(const Situation& situation, Ways& ways) {
    std::vector<Plan> plans = single_plans(situation, ways);
    std::vector<Plan> pairs = staged_plans(situation, ways, plans, mark_of(plans));
    std::move(pairs.begin(), pairs.end(), std::back_inserter(plans));
    return plans;
}

bool is_shown(const std::vector<Plan>& shown, const Plan& plan) {
    return std::any_of(shown.begin(), shown.end(), [&](const Plan& other) {
        return other.merits.places == plan.merits.places;
    });
}

bool ends_elsewhere(const std::vector<Plan>& shown, const Plan& plan) {
    return std::none_of(shown.begin(), shown.end(),
                        [&](const Plan& other) { return other.last_place() == plan.last_place(); });
}

/// The chosen plan and the alternatives behind it, best first: first those that end at a place not
/// shown yet, since an alternative must help when the place says no.
std::vector<Plan> plans_to_show(const Situation& situation, const Lead& lead,
                                const std::vector<Plan>& plans, const ChangesOfVehicle& changes) {
    std::vector<Plan> shown{lead.plan};
    if (lead.behind) {
        shown.push_back(*lead.behind);
    }
    const auto taking = taking_part(plans, *situation.settings);
    for (const bool elsewhere : {true, false}) {
        while (shown.size() <= situation.settings->alternatives) {
            std::vector<std::size_t> among = taking;
            std::erase_if(among, [&](std::size_t index) {
                return is_shown(shown, plans[index]) ||
                       (elsewhere && !ends_elsewhere(shown, plans[index]));
            });
            const auto next = best_of(plans, std::move(among), *situation.settings, changes);
            if (!next) {
                break;
            }
            shown.push_back(plans[*next]);
        }
    }
    return shown;
}

bool is_in_time(const Situation& situation, const Plan& plan) {
    return plan.merits.lateness <= 0 &&
           std::none_of(plan.unmet.begin(), plan.unmet.end(), [&](std::size_t index) {
               return situation.need(index).critical || situation.need(index).deadline;
           });
}

void add_call_for_advice(const Situation& situation, std::size_t place,
                         std::vector<Message>& meanwhile) {
    const facilities::Facility& facility = situation.place(place);
    if (!facility.phones.empty()) {
        meanwhile.push_back({"referral.call_for_advice",
                             {{"place", facility.name}, {"phone", facility.phones.front()}}});
    }
}

std::vector<Message> meanwhile_when_late(const Situation& situation, const Plan& plan) {
    std::vector<Message> meanwhile{{"referral.leave_as_soon_as_possible"},
                                   {"referral.begin_here_go_on_the_way"}};
    if (!situation.start->can_phone) {
        meanwhile.push_back({"referral.find_a_phone"});
    }
    for (const Stop& stop : plan.stops) {
        add_call_for_advice(situation, stop.place, meanwhile);
    }
    return meanwhile;
}

/// The two nearest places, as the crow flies, that offer any of it; those that refused come last.
std::vector<Message> meanwhile_when_nowhere(const Situation& situation) {
    std::vector<std::tuple<bool, Metres, std::size_t>> places;
    for (std::size_t place = 0; place < situation.offers.size(); ++place) {
        const facilities::Facility& facility = situation.place(place);
        if (facility.id != situation.start->at_facility && !facility.phones.empty() &&
            situation.offers_any(place, situation.to_meet)) {
            places.emplace_back(situation.call_answer(place) == CallAnswer::refused,
                                great_circle_distance(situation.start->from.point, facility.point),
                                place);
        }
    }
    std::sort(places.begin(), places.end());
    std::vector<Message> meanwhile{{"referral.begin_here_go_on"}};
    if (!situation.start->can_phone) {
        meanwhile.push_back({"referral.find_a_phone"});
    }
    for (std::size_t index = 0; index < std::min<std::size_t>(2, places.size()); ++index) {
        add_call_for_advice(situation, std::get<std::size_t>(places[index]), meanwhile);
    }
    meanwhile.push_back({"referral.call_the_district"});
    return meanwhile;
}

/// Why there is nowhere to go.
Message why_nowhere(const Situation& situation, Ways& ways) {
    const TravelTimes& times = ways.from_start(situation.departs);
    bool is_offered = false;
    bool is_reached = false;
    bool is_willing = false;
    for (std::size_t place = 0; place < times.size(); ++place) {
        if (situation.place(place).id == situation.start->at_facility ||
            !situation.offers_any(place, situation.to_meet)) {
            continue;
        }
        is_offered = true;
        is_reached = is_reached || times[place];
        is_willing = is_willing || (times[place] && situation.is_considered[place]);
    }
    if (!is_offered) {
        return {"referral.nobody_offers_it"};
    }
    if (!is_reached) {
        return {"referral.no_way_anywhere"};
    }
    return {is_willing ? "referral.nobody_is_ready" : "referral.everybody_refused"};
}

std::vector<Message> assumptions(const Situation& situation, const Plan* plan) {
    std::vector<Message> remarks;
    const ChoiceSettings& settings = *situation.settings;
    if (!situation.start->ready_in) {
        remarks.push_back({"referral.assumed_departure",
                           {{"minutes", minutes(situation.departs - situation.phoned_at)}}});
    }
    if (plan == nullptr) {
        return remarks;
    }
    if (settings.handover > Seconds{0}) {
        remarks.push_back({"referral.assumed_handover", {{"minutes", minutes(settings.handover)}}});
    }
    if (plan->stops.size() > 1) {
        remarks.push_back(
            {"referral.assumed_stay", {{"minutes", minutes(settings.first_stop_stay)}}});
    }
    return remarks;
}

void add_remarks(const Situation& situation, const Lead& lead, std::vector<Message>& remarks) {
    for (const std::size_t index : lead.plan.unmet) {
        const bool is_doubtful =
            std::any_of(lead.plan.stops.begin(), lead.plan.stops.end(), [&](const Stop& stop) {
                return !care_at(situation, stop.place, stop.arrives(), {{index}}).empty();
            });
        remarks.push_back(
            {is_doubtful ? "referral.not_confirmed_there" : "referral.not_given_there",
             {{"care", care_value(situation.need(index).any_of)}}});
    }
    if (lead.could_not_be_asked) {
        remarks.push_back({"referral.could_not_be_asked"});
    }
    if (lead.leads_as_confirmed && lead.behind) {
        remarks.push_back({"referral.unconfirmed_would_be_better",
                           {{"place", situation.place(lead.behind->last_place()).name}}});
    }
}

void set_nowhere(const Situation& situation, Ways& ways, Recommendation& answer) {
    answer.outcome = Outcome::nowhere;
    answer.remarks.push_back(why_nowhere(situation, ways));
    answer.meanwhile = meanwhile_when_nowhere(situation);
    answer.passed_over = passed_over(situation, ways, nullptr);
}

void set_choice(const Situation& situation, Ways& ways, const std::vector<Plan>& plans,
                Recommendation& answer) {
    const ChangesOfVehicle changes = [&](const Plan& plan) {
        return changes_of_vehicle(ways, plan);
    };
    const Lead lead = who_leads(situation, ways, plans, changes);
    const auto shown = plans_to_show(situation, lead, plans, changes);
    answer.chosen = write_out(situation, ways, shown.front());
    for (std::size_t index = 1; index < shown.size(); ++index) {
        answer.alternatives.push_back(write_out(situation, ways, shown[index]));
    }
    answer.call_first = lead.calls;
    answer.outcome = is_in_time(situation, lead.plan) ? Outcome::in_time : Outcome::late;
    if (answer.outcome == Outcome::late) {
        answer.meanwhile = meanwhile_when_late(situation, lead.plan);
    }
    answer.passed_over = passed_over(situation, ways, &lead.plan);
    add_remarks(situation, lead, answer.remarks);
    for (Message& remark : assumptions(situation, &lead.plan)) {
        answer.remarks.push_back(std::move(remark));
    }
}

/// Whether there is any place to choose.
bool choose(const Situation& situation, routing::Router& router, Recommendation& answer) {
    Ways ways(router, situation);
    const std::vector<Plan> plans = plans_of(situation, ways);
    if (!plans.empty()) {
        set_choice(situation, ways, plans, answer);
    }
    return !plans.empty();
}

}  // namespace

// NOLINTNEXTLINE(readability-function-size): seven parameters, each of another room or kind
Recommendation recommend(const triage::Assessment& assessment,
                         const facilities::FacilityRegister& facilities,
                         std::span<const std::optional<routing::Snap>> snaps,
                         routing::Router& router, const Start& start,
                         const ChoiceSettings& settings, Instant now) {
    check(settings);
    Recommendation answer;
    const Situation first = situation_of(assessment, facilities, snaps, start, settings, now);
    if (first.to_meet.empty()) {
        return answer;
    }
    answer.cautions = {{"referral.phone_ahead"}, {"referral.may_be_out_of_date"}};
    if (choose(first, router, answer)) {
        return answer;
    }
    const Situation again = with_unanswered(first);
    if (choose(again, router, answer)) {
        answer.remarks.insert(answer.remarks.begin(), Message{"referral.nobody_answered"});
        return answer;
    }
    Ways ways(router, again);
    set_nowhere(again, ways, answer);
    return answer;
}

}  // namespace waybourne::referral
