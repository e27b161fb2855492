#include "referral/write_out.hpp"

#include <algorithm>
#include <set>

#include "referral/care_begins.hpp"
#include "referral/chance.hpp"

namespace waybourne::referral {

namespace {

using From = std::optional<std::size_t>;

int changes_on(const routing::Route& route) {
    std::optional<routing::Means> last;
    int changes = 0;
    for (const routing::Leg& leg : route.legs) {
        if (leg.means == routing::Means::on_foot) {
            continue;
        }
        if (last && *last != leg.means) {
            ++changes;
        }
        last = leg.means;
    }
    return changes;
}

bool takes_a_ferry(const routing::Route& route) {
    return std::any_of(route.legs.begin(), route.legs.end(),
                       [](const routing::Leg& leg) { return leg.means == routing::Means::ferry; });
}

/// The latest arrival at which every need met here is in time. `has_deadline` is false when none
/// has one; `arrival` is none when she would be late even if she were there already.
struct Latest {
    bool has_deadline = false;
    std::optional<Instant> arrival;
};

Latest latest_arrival_in_time(const Situation& situation, const Stop& stop) {
    Latest latest;
    for (const Care& care : stop.care) {
        const auto& deadline = situation.need(care.need).deadline;
        if (!deadline) {
            continue;
        }
        const auto arrival = latest_arrival(situation, stop.place, care, *deadline, situation.now);
        latest.arrival = latest.has_deadline ? std::min(latest.arrival, arrival) : arrival;
        latest.has_deadline = true;
    }
    return latest;
}

/// With a timetable, leaving later may miss a ferry: narrowed down until the way as it is then
/// still arrives in time. To the minute, on the safe side.
Instant leave_by_timetable(Ways& ways, const Stop& stop, From from, Instant latest_arrival,
                           Instant leave_by) {
    const auto is_in_time = [&](Instant departs) {
        const auto way = ways.travel_time(from, departs, stop.place);
        return way && departs + way->allow <= latest_arrival;
    };
    if (leave_by <= stop.departs || is_in_time(leave_by)) {
        return leave_by;
    }
    Instant good = stop.departs;
    Instant bad = leave_by;
    while (bad - good > 1min) {
        const Instant middle = good + (bad - good) / 2;
        (is_in_time(middle) ? good : bad) = middle;
    }
    return good;
}

std::optional<Seconds> margin_of(const Situation& situation, const Stop& stop) {
    std::optional<Seconds> margin;
    for (const Care& care : stop.care) {
        if (const auto& deadline = situation.need(care.need).deadline) {
            margin = std::min(margin.value_or(Seconds::max()), *deadline - care.begins);
        }
    }
    return margin;
}

/// When the last need met here has begun if she arrives at `arrival`, by the same capabilities.
Instant care_begun_at(const Situation& situation, const Stop& stop, Instant arrival) {
    Instant last = arrival;
    for (const Care& care : stop.care) {
        const auto readiness = readiness_for(situation, stop.place, care.capability, arrival);
        const Instant ready = readiness.ready_at.value_or(care.begins);
        last = std::max(last, care_begins(arrival, situation.settings->handover, ready));
    }
    return last;
}

/// Every capability counted on, each once, as if they failed independently of each other: too low
/// where they rest on the same thing.
double readiness_chance(const Stop& stop) {
    std::set<triage::Capability> counted;
    double chance = 1;
    for (const Care& care : stop.care) {
        if (counted.insert(care.capability).second) {
            chance *= care.readiness.chance;
        }
    }
    return chance;
}

/// What has been travelled and spent before a stop.
struct Before {
    Instant left_at{};
    std::optional<routing::TravelTime> travel_time = {};
    /// Not travelling: handed over, cared for, at a first stop.
    Seconds spent{};
    Instant departs_typical{};
};

double travel_chance(const Stop& stop, const Before& before, const Latest& latest) {
    if (!latest.has_deadline) {
        return 1;
    }
    if (!latest.arrival) {
        return 0;
    }
    const Seconds budget = *latest.arrival - before.left_at - before.spent;
    return chance_within(
        before.travel_time ? together(*before.travel_time, stop.travel_time) : stop.travel_time,
        budget);
}

std::optional<Instant> leave_by(const Situation& situation, Ways& ways, const Stop& stop, From from,
                                const Latest& latest, const routing::Route& route) {
    if (!latest.has_deadline) {
        return std::nullopt;
    }
    const Instant at_once = from ? stop.departs : situation.now;
    if (!latest.arrival) {
        return at_once;
    }
    Instant departs = *latest.arrival - stop.travel_time.allow;
    if (takes_a_ferry(route)) {
        departs = leave_by_timetable(ways, stop, from, *latest.arrival, departs);
    }
    return std::max(departs, at_once);
}

Stage stage_of(const Situation& situation, Ways& ways, const Stop& stop, From from,
               const Before& before) {
    const routing::Route& route = ways.route(from, stop.departs, stop.place);
    const Latest latest = latest_arrival_in_time(situation, stop);
    Stage stage{.facility = situation.place(stop.place).id};
    for (const Care& care : stop.care) {
        stage.needs.push_back(care.need);
        stage.meets.push_back(care.capability);
        stage.readiness.push_back(care.readiness);
    }
    stage.leave_by = leave_by(situation, ways, stop, from, latest, route);
    stage.arrival = {before.departs_typical + stop.travel_time.typical, stop.arrives()};
    stage.care_begins = {care_begun_at(situation, stop, stage.arrival.typical), stop.care_begun()};
    stage.travel_time = stop.travel_time;
    stage.distance = route.distance;
    stage.margin = margin_of(situation, stop);
    stage.chance_in_time = travel_chance(stop, before, latest) * readiness_chance(stop);
    stage.route = route;
    return stage;
}

}  // namespace

int changes_of_vehicle(Ways& ways, const Plan& plan) {
    From from;
    int changes = 0;
    for (const Stop& stop : plan.stops) {
        changes += changes_on(ways.route(from, stop.departs, stop.place));
        from = stop.place;
    }
    return changes;
}

Choice write_out(const Situation& situation, Ways& ways, const Plan& plan) {
    Choice choice{.lateness = plan.merits.lateness,
                  .last_critical_after = plan.merits.last_critical_after,
                  .last_need_after = plan.merits.last_need_after,
                  .is_unconfirmed = plan.is_unconfirmed(),
                  .chance_in_time = 1,
                  .unmet = plan.unmet};
    From from;
    Before before{.left_at = situation.departs, .departs_typical = situation.departs};
    for (const Stop& stop : plan.stops) {
        Stage stage = stage_of(situation, ways, stop, from, before);
        choice.chance_in_time *= stage.chance_in_time;
        before.departs_typical = stage.care_begins.typical + situation.settings->first_stop_stay;
        before.spent += before.departs_typical - stage.arrival.typical;
        before.travel_time = stop.travel_time;
        from = stop.place;
        choice.stages.push_back(std::move(stage));
    }
    const bool misses_a_deadline =
        std::any_of(plan.unmet.begin(), plan.unmet.end(),
                    [&](std::size_t need) { return situation.need(need).deadline.has_value(); });
    if (misses_a_deadline) {
        choice.chance_in_time = 0;
    }
    return choice;
}

}  // namespace waybourne::referral
