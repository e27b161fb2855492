#include <algorithm>
#include <functional>
#include <numeric>
#include <set>
#include <tuple>

#include "dispatch/internal/ways.hpp"
#include "referral/rank.hpp"

namespace waybourne::dispatch {

namespace {

std::string minutes(Seconds span) {
    return std::to_string(ceil_minutes(span).count());
}

/// What the criteria of the choice look at.
referral::Plan figures_of(const OpenReferral& referral, const Way& way) {
    referral::Plan plan;
    const referral::Choice& choice = *way.recommendation.chosen;
    plan.stops.resize(choice.stages.size());
    plan.merits.lateness = choice.lateness;
    plan.merits.last_critical_after = choice.last_critical_after;
    plan.merits.last_need_after = choice.last_need_after;
    for (const std::size_t need : choice.unmet) {
        plan.merits.unmet_critical += referral.assessment.needs[need].critical ? 1 : 0;
    }
    return plan;
}

/// Why it is behind the best, in the order of the criteria.
Message against(const referral::Plan& plan, const referral::Plan& best, const Way& way,
                const Way& best_way, const referral::ChoiceSettings& settings) {
    if (plan.merits.unmet_critical > best.merits.unmet_critical) {
        return {"dispatch.leaves_more_unmet"};
    }
    if (way.recommendation.chosen->unmet.size() > best_way.recommendation.chosen->unmet.size()) {
        return {"dispatch.leaves_needs_unmet"};
    }
    const Seconds later =
        std::max(plan.merits.last_critical_after - best.merits.last_critical_after,
                 plan.merits.last_need_after - best.merits.last_need_after);
    if (plan.merits.lateness > best.merits.lateness + settings.lateness_tolerance) {
        return {"dispatch.later_for_her_needs",
                {{"minutes", minutes(std::max(later, Seconds{0}))}}};
    }
    if (later > settings.time_tolerance) {
        return {"dispatch.care_begins_later", {{"minutes", minutes(later)}}};
    }
    if (plan.stops.size() > best.stops.size()) {
        return {"dispatch.more_stops"};
    }
    if (way.vehicles.size() > best_way.vehicles.size()) {
        return {"dispatch.more_changes"};
    }
    return {"dispatch.no_better"};
}

/// Which are tried first, and so win where all criteria are equal.
bool is_preferred(const OpenReferral& referral, const Way& a, const Way& b) {
    const auto order = [&](const Way& way) {
        return std::tuple{-static_cast<long>(needs_served(referral.assessment, way.on_board)),
                          way.kind, way.waits_for_dawn, way.vehicles};
    };
    return order(a) < order(b);
}

/// The ways of the night and, where they differ, those of the morning.
void add_with_dawn(const DispatchSituation& situation, std::vector<Way>& ways,
                   const std::function<Way(Instant)>& way_from) {
    Way now = way_from(situation.now);
    const auto dawn = situation.roads.dawn_after(situation.now);
    const bool nobody_drives_before = dawn && now.is_possible() && now.leaves.typical >= *dawn;
    if (dawn && !nobody_drives_before) {
        Way later = way_from(*dawn);
        later.waits_for_dawn = true;
        const bool is_better =
            later.is_possible() &&
            (!now.is_possible() || later.care_begins.allow < now.care_begins.allow);
        if (is_better) {
            later.remarks.push_back({"dispatch.waits_for_dawn", {{"dawn", to_rfc3339(*dawn)}}});
            ways.push_back(std::move(later));
        }
    }
    ways.push_back(std::move(now));
}

const Vehicle* find_vehicle(std::span<const Vehicle> vehicles, const VehicleId& id) {
    const auto found = std::find_if(vehicles.begin(), vehicles.end(),
                                    [&](const Vehicle& vehicle) { return vehicle.id == id; });
    return found == vehicles.end() ? nullptr : &*found;
}

/// The places where ways end that are possible.
std::set<std::size_t> ends_of(const DispatchSituation& situation, std::span<const Way> ways) {
    std::set<std::size_t> places;
    for (const Way& way : ways) {
        if (way.is_possible()) {
            places.insert(
                situation.facilities.position(way.recommendation.chosen->stages.back().facility));
        }
    }
    return places;
}

/// Whether a first vehicle is one of those that stand where she is: on roads only these gain by
/// being met.
bool starts_with_her(const Way& way) {
    return way.kind == WayKind::own_transport || way.kind == WayKind::clinic_vehicle;
}

bool is_worth_it(const DispatchSituation& situation, const Way& meeting,
                 std::span<const Way> others) {
    return std::all_of(others.begin(), others.end(), [&](const Way& other) {
        return !other.is_possible() || (meeting.is_in_time() && !other.is_in_time()) ||
               meeting.care_begins.allow + situation.settings.rendezvous_saves <=
                   other.care_begins.allow;
    });
}

void add_rendezvous(const DispatchSituation& situation, const OpenReferral& referral,
                    std::span<const Vehicle> vehicles, std::vector<Way>& ways) {
    const std::set<std::size_t> places = ends_of(situation, ways);
    std::vector<Way> meetings;
    for (const Way& first : ways) {
        const Vehicle* const first_vehicle =
            first.vehicles.empty() ? nullptr : find_vehicle(vehicles, first.vehicles.front());
        const bool is_boat =
            first_vehicle != nullptr && first_vehicle->means == routing::Means::boat;
        // A first vehicle that gets nowhere by itself may still get to a better one.
        if (!(starts_with_her(first) || is_boat) || first.waits_for_dawn ||
            first.leaves.allow == Instant{}) {
            continue;
        }
        const auto add = [&](std::optional<Way> way) {
            if (way && is_worth_it(situation, *way, ways)) {
                meetings.push_back(*std::move(way));
            }
        };
        for (const Vehicle& second : vehicles) {
            if (&second == first_vehicle) {
                continue;
            }
            for (const std::size_t place : places) {
                add(rendezvous_way(situation, referral, first, first_vehicle, second, place));
            }
            add(landing_way(situation, referral, first, first_vehicle, second));
        }
    }
    for (Way& meeting : meetings) {
        ways.push_back(std::move(meeting));
    }
}

}  // namespace

void rank_ways(const DispatchSituation& situation, const OpenReferral& referral,
               std::vector<Way>& ways) {
    std::sort(ways.begin(), ways.end(),
              [&](const Way& a, const Way& b) { return is_preferred(referral, a, b); });
    const auto impossible = std::stable_partition(ways.begin(), ways.end(),
                                                  [](const Way& way) { return way.is_possible(); });
    std::vector<referral::Plan> plans;
    std::transform(ways.begin(), impossible, std::back_inserter(plans),
                   [&](const Way& way) { return figures_of(referral, way); });
    std::vector<std::size_t> left(plans.size());
    std::iota(left.begin(), left.end(), std::size_t{0});
    const auto changes = [&](const referral::Plan& plan) {
        const Way& way = ways[static_cast<std::size_t>(&plan - plans.data())];
        return std::max(static_cast<int>(way.vehicles.size()) - 1, 0);
    };
    std::vector<Way> ranked;
    std::optional<std::size_t> best;
    while (const auto next = referral::best_of(plans, left, situation.choice, changes)) {
        best = best.value_or(*next);
        Way way = ways[*next];
        if (*next != *best) {
            way.against = {
                against(plans[*next], plans[*best], way, ranked.front(), situation.choice)};
        }
        ranked.push_back(std::move(way));
        std::erase(left, *next);
    }
    std::move(impossible, ways.end(), std::back_inserter(ranked));
    ways = std::move(ranked);
}

std::vector<Way> compare_ways(const DispatchSituation& situation, const OpenReferral& referral,
                              std::span<const Vehicle> vehicles) {
    const auto& needs = referral.assessment.needs;
    const bool stays = std::all_of(needs.begin(), needs.end(),
                                   [](const triage::Need& need) { return need.available_here; });
    std::vector<Way> ways;
    if (stays) {
        return ways;
    }
    if (referral.own_transport) {
        add_with_dawn(situation, ways,
                      [&](Instant not_before) { return own_way(situation, referral, not_before); });
    }
    for (const Vehicle& vehicle : vehicles) {
        add_with_dawn(situation, ways, [&](Instant not_before) {
            return vehicle_way(situation, referral, vehicle, not_before);
        });
    }
    add_rendezvous(situation, referral, vehicles, ways);
    rank_ways(situation, referral, ways);
    return ways;
}

}  // namespace waybourne::dispatch
