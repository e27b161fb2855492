#include "referral/passed_over.hpp"

#include <algorithm>
#include <tuple>

#include "referral/wording.hpp"

namespace waybourne::referral {

namespace {

using Reasons = std::vector<Message>;

void add(Reasons& reasons, Message reason) {
    if (std::find(reasons.begin(), reasons.end(), reason) == reasons.end()) {
        reasons.push_back(std::move(reason));
    }
}

void add(Reasons& reasons, const Reasons& more) {
    for (const Message& reason : more) {
        add(reasons, reason);
    }
}

std::string minutes(Seconds span) {
    return std::to_string(ceil_minutes(span).count());
}

/// One choice and one place, looked at for reasons.
struct Comparison {
    const Situation* situation = nullptr;
    const Plan* chosen = nullptr;
    std::size_t place = 0;
    Instant arrives{};
    /// None when it meets nothing.
    std::optional<Plan> plan;
};

void add_unmet(const Comparison& at, std::size_t index, Reasons& reasons) {
    const triage::Need& need = at.situation->need(index);
    const auto offered = need.any_of & at.situation->offers[at.place];
    if (offered.empty()) {
        add(reasons, {"referral.does_not_give", {{"care", care_value(need.any_of)}}});
        return;
    }
    for (const triage::Capability capability : offered.members()) {
        const auto readiness =
            readiness_for(*at.situation, at.place, capability, at.arrives).reasons;
        add(reasons, readiness);
        if (readiness.empty()) {
            add(reasons, {"referral.not_ready", {{"care", care_value(capability)}}});
        }
    }
}

std::optional<Instant> begins_in(const Plan& plan, std::size_t need) {
    for (const Stop& stop : plan.stops) {
        for (const Care& care : stop.care) {
            if (care.need == need) {
                return care.begins;
            }
        }
    }
    return std::nullopt;
}

void add_met(const Comparison& at, const Care& care, Reasons& reasons) {
    const triage::Need& need = at.situation->need(care.need);
    const auto elsewhere = begins_in(*at.chosen, care.need);
    const bool waits = care.readiness.ready_at && *care.readiness.ready_at > at.arrives;
    const bool is_late = need.deadline && care.begins > *need.deadline;
    if (!care.is_confirmed() || (waits && (is_late || (elsewhere && *elsewhere < care.begins)))) {
        add(reasons, care.readiness.reasons);
    }
    if (is_late) {
        add(reasons, {"referral.too_late",
                      {{"care", care_value(care.capability)},
                       {"begins", to_rfc3339(care.begins)},
                       {"deadline", to_rfc3339(*need.deadline)},
                       {"minutes", minutes(care.begins - *need.deadline)}}});
    }
}

/// When neither missing care nor a deadline speaks against it: what the criteria preferred.
Message preference(const Comparison& at) {
    const Merits& here = at.plan->merits;
    const Merits& there = at.chosen->merits;
    const Seconds critical = here.last_critical_after - there.last_critical_after;
    const Seconds last = here.last_need_after - there.last_need_after;
    const Seconds tolerance = at.situation->settings->time_tolerance;
    if (critical > tolerance || last > tolerance) {
        return {"referral.care_begins_later",
                {{"minutes", minutes(critical > tolerance ? critical : last)}}};
    }
    if (here.continues < there.continues) {
        return {"referral.cannot_continue"};
    }
    return {"referral.care_begins_no_sooner"};
}

Reasons reasons_against(const Comparison& at) {
    Reasons reasons;
    const Plan nothing;
    const Plan& plan = at.plan ? *at.plan : nothing;
    const auto& unmet = at.plan ? plan.unmet : at.situation->to_meet;
    for (const std::size_t index : unmet) {
        add_unmet(at, index, reasons);
    }
    if (at.chosen == nullptr) {
        return reasons;
    }
    if (at.plan) {
        for (const Care& care : plan.stops.front().care) {
            add_met(at, care, reasons);
        }
    }
    if (reasons.empty() && at.plan) {
        reasons.push_back(preference(at));
    }
    return reasons;
}

std::optional<Message> call_reason(const Situation& situation, std::size_t place) {
    const auto answer = situation.call_answer(place);
    if (answer == CallAnswer::refused) {
        return Message{"referral.refused_on_the_phone"};
    }
    if (answer == CallAnswer::no_answer) {
        return Message{"referral.no_answer_on_the_phone"};
    }
    return std::nullopt;
}

Metres crow_flies(const Situation& situation, std::size_t place) {
    return great_circle_distance(situation.start->from.point, situation.place(place).point);
}

/// Whether the place has to be explained, and it is no stop of the choice.
bool is_asked_about(const Situation& situation, const TravelTimes& times, const Plan* chosen,
                    std::size_t place) {
    if (situation.place(place).id == situation.start->at_facility ||
        (chosen != nullptr && chosen->has_stop_at(place))) {
        return false;
    }
    if (chosen == nullptr || !situation.snaps[place] || call_reason(situation, place)) {
        return true;
    }
    const std::size_t last = chosen->last_place();
    if (!times[place]) {
        return crow_flies(situation, place) < crow_flies(situation, last);
    }
    return !times[last] || times[place]->typical < times[last]->typical;
}

PassedOver explain(const Situation& situation, const TravelTimes& times, const Plan* chosen,
                   std::size_t place) {
    PassedOver passed{.facility = situation.place(place).id, .travel_time = times[place]};
    if (const auto reason = call_reason(situation, place)) {
        passed.reasons.push_back(*reason);
    }
    if (!situation.snaps[place]) {
        passed.reasons.push_back({"referral.off_the_map"});
    } else if (!times[place]) {
        passed.reasons.push_back(
            {"referral.no_way",
             {{"hours", std::to_string(std::chrono::duration_cast<std::chrono::hours>(
                                           situation.settings->search_limit)
                                           .count())}}});
    } else {
        Stop stop{.place = place, .departs = situation.departs, .travel_time = *times[place]};
        stop.care = care_at(situation, place, stop.arrives(), situation.to_meet);
        Comparison at{.situation = &situation,
                      .chosen = chosen,
                      .place = place,
                      .arrives = stop.arrives(),
                      .plan = std::nullopt};
        if (!stop.care.empty()) {
            at.plan = make_plan(situation, {std::move(stop)});
        }
        add(passed.reasons, reasons_against(at));
    }
    return passed;
}

}  // namespace

std::vector<PassedOver> passed_over(const Situation& situation, Ways& ways, const Plan* chosen) {
    const TravelTimes& times = ways.from_start(situation.departs);
    std::vector<PassedOver> all;
    for (std::size_t place = 0; place < times.size(); ++place) {
        if (is_asked_about(situation, times, chosen, place)) {
            all.push_back(explain(situation, times, chosen, place));
        }
    }
    const auto order = [](const PassedOver& passed) {
        return std::tuple{passed.travel_time ? passed.travel_time->typical : Seconds::max(),
                          passed.facility};
    };
    std::sort(all.begin(), all.end(),
              [&](const PassedOver& a, const PassedOver& b) { return order(a) < order(b); });
    return all;
}

}  // namespace waybourne::referral
