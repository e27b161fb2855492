#include "referral/staged.hpp"

#include <algorithm>
#include <set>
#include <tuple>

namespace waybourne::referral {

namespace {

/// Going on from a first place once part of what it can give has begun.
struct Onward {
    Stop first;
    Instant departs{};
    std::vector<std::size_t> rest = {};
};

/// One for each time at which she could go on.
std::vector<Onward> ways_onward(const Situation& situation, const Stop& stop) {
    std::set<Instant> waits;
    for (const Care& care : stop.care) {
        waits.insert(care.begins);
    }
    std::vector<Onward> all;
    for (const Instant until : waits) {
        Onward onward{.first = stop, .departs = until + situation.settings->first_stop_stay};
        std::erase_if(onward.first.care, [&](const Care& care) { return care.begins > until; });
        for (const std::size_t need : situation.to_meet) {
            const bool is_met = std::any_of(onward.first.care.begin(), onward.first.care.end(),
                                            [&](const Care& care) { return care.need == need; });
            if (!is_met) {
                onward.rest.push_back(need);
            }
        }
        if (!onward.rest.empty()) {
            all.push_back(std::move(onward));
        }
    }
    return all;
}

/// The least lateness of going on when the rest is met right after `arrives`.
double least_lateness(const Situation& situation, const Onward& onward, Instant arrives) {
    double lateness = 0;
    for (const Care& care : onward.first.care) {
        lateness += lateness_at(situation, care.need, care.begins);
    }
    for (const std::size_t need : onward.rest) {
        lateness += lateness_at(situation, need, arrives + situation.settings->handover);
    }
    return lateness;
}

bool could_earn(const Situation& situation, const Onward& onward, Instant arrives,
                const std::optional<Mark>& mark) {
    return earns_second_stop(0, least_lateness(situation, onward, arrives), mark,
                             *situation.settings);
}

std::optional<Plan> plan_via(const Situation& situation, const Onward& onward, std::size_t place,
                             const routing::TravelTime& travel_time) {
    Stop second{.place = place, .departs = onward.departs, .travel_time = travel_time};
    second.care = care_at(situation, place, second.arrives(), onward.rest);
    if (second.care.empty()) {
        return std::nullopt;
    }
    return make_plan(situation, {onward.first, std::move(second)});
}

bool is_better_wait(const Plan& a, const Plan& b) {
    const auto figures = [](const Plan& plan) {
        return std::tuple{plan.merits.unmet_critical, plan.merits.lateness,
                          plan.merits.last_critical_after, plan.merits.last_need_after,
                          plan.stops.back().departs};
    };
    return figures(a) < figures(b);
}

void try_onward(const Situation& situation, Ways& ways, const Onward& onward,
                const std::optional<Mark>& mark, std::vector<std::optional<Plan>>& best) {
    const TravelTimes& times = ways.from_place(onward.first.place, onward.departs);
    for (std::size_t place = 0; place < times.size(); ++place) {
        if (!times[place] || place == onward.first.place ||
            !situation.offers_any(place, onward.rest) ||
            !could_earn(situation, onward, onward.departs + times[place]->allow, mark)) {
            continue;
        }
        auto plan = plan_via(situation, onward, place, *times[place]);
        if (plan && (!best[place] || is_better_wait(*plan, *best[place]))) {
            best[place] = std::move(plan);
        }
    }
}

}  // namespace

std::vector<Plan> single_plans(const Situation& situation, Ways& ways) {
    const TravelTimes& times = ways.from_start(situation.departs);
    std::vector<Plan> plans;
    for (std::size_t place = 0; place < times.size(); ++place) {
        if (!times[place] || !situation.is_considered[place] ||
            !situation.offers_any(place, situation.to_meet)) {
            continue;
        }
        Stop stop{.place = place, .departs = situation.departs, .travel_time = *times[place]};
        stop.care = care_at(situation, place, stop.arrives(), situation.to_meet);
        if (!stop.care.empty()) {
            std::vector<Stop> stops;  // not a list in braces, which would copy the care
            stops.push_back(std::move(stop));
            plans.push_back(make_plan(situation, std::move(stops)));
        }
    }
    return plans;
}

std::vector<Plan> staged_plans(const Situation& situation, Ways& ways,
                               std::span<const Plan> singles, const std::optional<Mark>& mark) {
    std::vector<Plan> plans;
    for (const Plan& single : singles) {
        std::vector<std::optional<Plan>> best(situation.offers.size());
        for (const Onward& onward : ways_onward(situation, single.stops.front())) {
            if (could_earn(situation, onward, onward.departs, mark)) {
                try_onward(situation, ways, onward, mark, best);
            }
        }
        for (std::optional<Plan>& plan : best) {
            if (plan && earns_second_stop(plan->merits.unmet_critical, plan->merits.lateness, mark,
                                          *situation.settings)) {
                plans.push_back(std::move(*plan));
            }
        }
    }
    return plans;
}

std::optional<Plan> replanned(const Situation& situation, Ways& ways, const Plan& plan) {
    const std::size_t first_place = plan.stops.front().place;
    const auto way = ways.from_start(situation.departs)[first_place];
    if (!way) {
        return std::nullopt;
    }
    Stop first{.place = first_place, .departs = situation.departs, .travel_time = *way};
    first.care = care_at(situation, first_place, first.arrives(), situation.to_meet);
    if (first.care.empty()) {
        return std::nullopt;
    }
    if (plan.stops.size() == 1) {
        return make_plan(situation, {std::move(first)});
    }
    std::vector<std::optional<Plan>> best(situation.offers.size());
    for (const Onward& onward : ways_onward(situation, first)) {
        try_onward(situation, ways, onward, std::nullopt, best);
    }
    return best[plan.last_place()];
}

}  // namespace waybourne::referral
