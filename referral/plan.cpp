#include "referral/plan.hpp"

#include <algorithm>
#include <optional>

namespace waybourne::referral {

Instant Stop::care_begun() const {
    Instant last = arrives();
    for (const Care& met : care) {
        last = std::max(last, met.begins);
    }
    return last;
}

bool Stop::is_unconfirmed() const {
    return !std::all_of(care.begin(), care.end(),
                        [](const Care& met) { return met.is_confirmed(); });
}

bool Plan::is_unconfirmed() const {
    return std::any_of(stops.begin(), stops.end(),
                       [](const Stop& stop) { return stop.is_unconfirmed(); });
}

bool Plan::has_stop_at(std::size_t place) const {
    return std::any_of(stops.begin(), stops.end(),
                       [&](const Stop& stop) { return stop.place == place; });
}

double lateness_at(const Situation& situation, std::size_t need_index, Instant begins) {
    const triage::Need& need = situation.need(need_index);
    if (!need.deadline) {
        return 0;
    }
    // A deadline without a time limit cannot come from a protocol; counted from the assessment.
    const Seconds within = need.within.value_or(*need.deadline - situation.assessment->assessed_at);
    return lateness_of(need.critical, begins - *need.deadline, within, *situation.settings);
}

namespace {

std::size_t continued_at(const Situation& situation, const Stop& stop) {
    const auto can_continue = [&](std::size_t need) {
        const auto able = situation.need(need).any_of & situation.offers[stop.place];
        const auto members = able.members();
        return std::any_of(members.begin(), members.end(), [&](triage::Capability capability) {
            return readiness_for(situation, stop.place, capability, stop.arrives()).state !=
                   facilities::ReadinessState::not_ready;
        });
    };
    return static_cast<std::size_t>(
        std::count_if(situation.met_here.begin(), situation.met_here.end(), can_continue));
}

}  // namespace

Plan make_plan(const Situation& situation, std::vector<Stop> stops) {
    Plan plan{.stops = std::move(stops)};
    std::vector<std::optional<Instant>> begun(situation.assessment->needs.size());
    for (const Stop& stop : plan.stops) {
        plan.merits.places.push_back(situation.place(stop.place).id);
        for (const Care& met : stop.care) {
            if (!begun[met.need]) {
                begun[met.need] = met.begins;
            }
        }
    }
    for (const std::size_t index : situation.to_meet) {
        const std::optional<Instant> met = begun[index];
        const bool critical = situation.need(index).critical;
        if (!met) {
            plan.unmet.push_back(index);
            plan.merits.unmet_critical += critical ? 1 : 0;
        }
        const Instant begins = met.value_or(situation.now + situation.settings->unmet_after);
        const Seconds after = begins - situation.now;
        plan.merits.lateness += lateness_at(situation, index, begins);
        plan.merits.last_need_after = std::max(plan.merits.last_need_after, after);
        if (critical) {
            plan.merits.last_critical_after = std::max(plan.merits.last_critical_after, after);
        }
    }
    plan.merits.continues = continued_at(situation, plan.stops.back());
    return plan;
}

}  // namespace waybourne::referral
