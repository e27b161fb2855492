#include <algorithm>
#include <array>
#include <utility>

#include "dispatch/internal/ways.hpp"

// The ways on which she changes vehicles.

namespace waybourne::dispatch {

namespace {

using referral::Expected;
using routing::Means;
using routing::Snap;
using routing::TravelTime;

/// The vehicle that comes to meet them, told to go as soon as it is free.
struct TakesOver {
    Instant sets_out{};
    Snap from;
    std::vector<Message> remarks;
};

/// None where it cannot be sent or has no room for her.
std::optional<TakesOver> taking_over(const DispatchSituation& situation,
                                     const OpenReferral& referral, const Vehicle& second) {
    const Availability free =
        availability(second, situation.zone, situation.now, situation.settings.vehicles);
    if (!free.from || !has_room(second, referral)) {
        return std::nullopt;
    }
    TakesOver other{sets_out_at(situation, second, *free.from), {}, free.reasons};
    auto from = place_of(situation, second, other.sets_out, other.remarks);
    if (!from) {
        return std::nullopt;
    }
    other.from = *std::move(from);
    return other;
}

Means means_of(const OpenReferral& referral, const Vehicle* first_vehicle) {
    return first_vehicle == nullptr ? *referral.own_transport : first_vehicle->means;
}

/// Both at the meeting point, from where the second goes on.
struct Met {
    Snap snap;
    Expected first_arrives;
    Expected second_arrives;
    TravelTime first;
    TravelTime second;
    std::string landing = {};
};

Instant leaves_by(const DispatchSituation& situation, const Met& met) {
    return std::max(met.first_arrives.allow, met.second_arrives.allow) +
           situation.settings.transfer;
}

/// The place was looked for on the roads as they are when the two set out; what it takes to get
/// there is asked of the routers, which know what turns worse under way. False where one of them
/// cannot get there after all.
bool ask_again(const TwoVehicles& two, Rendezvous& met) {
    const std::array there{met.snap};
    const auto first =
        two.first_router->travel_times({two.her, two.first_leaves}, there, two.limit).front();
    const auto second =
        two.onward->travel_times({two.second_from, two.second_leaves}, there, two.limit).front();
    if (!first || !second) {
        return false;
    }
    met.first = *first;
    met.second = *second;
    return true;
}

/// None where no place can be reached from there.
std::optional<Way> way_over(const DispatchSituation& situation, const OpenReferral& referral,
                            const Way& first, const Vehicle& second, const TakesOver& other,
                            const Met& met) {
    Way way;
    way.kind = WayKind::rendezvous;
    way.vehicles = first.vehicles;
    set_vehicle(second, way);
    way.sets_out = first.sets_out;
    way.with_her = first.with_her;
    way.remarks = other.remarks;
    way.remarks.insert(way.remarks.end(), first.remarks.begin(), first.remarks.end());
    drop_shift_end(way);  // that of the first counts as far as the meeting point
    way.meeting = Meeting{met.snap.point, met.first_arrives, met.second_arrives, met.landing};
    const Expected both = way.meeting->both_arrive();
    way.leaves = {both.typical + situation.settings.transfer,
                  both.allow + situation.settings.transfer};
    set_onward(situation, referral, second.means, met.snap,
               met.first_arrives.allow > met.second_arrives.allow ? met.first : met.second, way);
    return way.is_possible() ? std::optional{std::move(way)} : std::nullopt;
}

void remark_shift_ends(const DispatchSituation& situation, const Vehicle* first,
                       const Vehicle& second, const TakesOver& other, Way& way) {
    if (first != nullptr && way.sets_out) {
        remark_shift_end(situation, *first, *way.sets_out, way.leaves.allow, way);
    }
    remark_shift_end(situation, second, other.sets_out, way.arrives.allow, way);
}

}  // namespace

std::optional<Way> rendezvous_way(const DispatchSituation& situation, const OpenReferral& referral,
                                  const Way& first, const Vehicle* first_vehicle,
                                  const Vehicle& second, std::size_t place) {
    const Means first_means = means_of(referral, first_vehicle);
    const RoadsOf first_roads = situation.roads.roads(first_means, first.leaves.allow);
    const auto other = taking_over(situation, referral, second);
    if (!other || !first_roads.metric) {
        return std::nullopt;
    }
    const RoadsOf roads = situation.roads.roads(second.means, other->sets_out);
    const auto her = her_place(situation, referral, first_means, first.leaves.allow);
    if (!roads.metric || !her || !roads.facility_snaps[place]) {
        return std::nullopt;
    }
    const TwoVehicles two{*her,
                          first.leaves.typical,
                          first_roads.metric,
                          other->from,
                          other->sets_out,
                          roads.metric,
                          roads.router,
                          *roads.facility_snaps[place],
                          situation.settings.transfer,
                          situation.choice.search_limit,
                          first_roads.router,
                          situation.roads.swept(first_means, first.leaves.allow),
                          situation.roads.swept(second.means, other->sets_out)};
    auto found = best_rendezvous(two);
    if (!found || ((first_roads.has_turns || roads.has_turns) && !ask_again(two, *found))) {
        return std::nullopt;
    }
    auto way = way_over(
        situation, referral, first, second, *other,
        {found->snap,
         {first.leaves.typical + found->first.typical, first.leaves.allow + found->first.allow},
         {other->sets_out + found->second.typical, other->sets_out + found->second.allow},
         found->first,
         found->second});
    if (way) {
        remark_shift_ends(situation, first_vehicle, second, *other, *way);
    }
    return way;
}

namespace {

/// The landings as they lie on the ways of both.
struct Landings {
    std::vector<std::string> names;
    std::vector<Snap> for_first;
    std::vector<Snap> for_second;
};

Landings landings_of(DistrictRoads& roads, std::pair<Means, Instant> first,
                     std::pair<Means, Instant> second) {
    Landings both;
    for (const routing::Landing& landing : roads.landings()) {
        const auto one = roads.snap(landing.point, first.first, first.second);
        const auto other = roads.snap(landing.point, second.first, second.second);
        if (one && other) {
            both.names.push_back(landing.name);
            both.for_first.push_back(*one);
            both.for_second.push_back(*other);
        }
    }
    return both;
}

/// Where a sailing is waited for, leaving by `allow` may take another than leaving typically.
struct Arrival {
    Expected at;
    TravelTime takes;
};

std::vector<std::optional<Arrival>> arrivals_at(const DispatchSituation& situation, Means means,
                                                const Snap& from, const Expected& leaves,
                                                std::span<const Snap> there) {
    routing::Router& router = *situation.roads.roads(means, leaves.allow).router;
    const Seconds limit = situation.choice.search_limit;
    const auto typical = router.travel_times({from, leaves.typical}, there, limit);
    const auto allowed = leaves.typical == leaves.allow
                             ? typical
                             : router.travel_times({from, leaves.allow}, there, limit);
    std::vector<std::optional<Arrival>> arrivals(there.size());
    for (std::size_t i = 0; i < there.size(); ++i) {
        if (typical[i] && allowed[i]) {
            arrivals[i] =
                Arrival{{leaves.typical + typical[i]->typical, leaves.allow + allowed[i]->allow},
                        *allowed[i]};
        }
    }
    return arrivals;
}

/// Whether she cannot be sooner by leaving then.
bool is_too_late(const std::vector<Way>& ways, Instant leaves) {
    return std::any_of(ways.begin(), ways.end(), [&](const Way& way) {
        return way.recommendation.chosen->unmet.empty() && way.care_begins.allow <= leaves;
    });
}

}  // namespace

std::optional<Way> landing_way(const DispatchSituation& situation, const OpenReferral& referral,
                               const Way& first, const Vehicle* first_vehicle,
                               const Vehicle& second) {
    const Means first_means = means_of(referral, first_vehicle);
    const bool is_one_a_boat = (first_means == Means::boat) != (second.means == Means::boat);
    const auto other = is_one_a_boat ? taking_over(situation, referral, second) : std::nullopt;
    const auto her =
        other ? her_place(situation, referral, first_means, first.leaves.allow) : std::nullopt;
    if (!her) {
        return std::nullopt;
    }
    const Landings landings = landings_of(situation.roads, {first_means, first.leaves.allow},
                                          {second.means, other->sets_out});
    const auto one = arrivals_at(situation, first_means, *her, first.leaves, landings.for_first);
    const auto two = arrivals_at(situation, second.means, other->from,
                                 {other->sets_out, other->sets_out}, landings.for_second);
    std::vector<Met> meetings;
    for (std::size_t i = 0; i < one.size(); ++i) {
        if (one[i] && two[i]) {
            meetings.push_back({landings.for_second[i], one[i]->at, two[i]->at, one[i]->takes,
                                two[i]->takes, landings.names[i]});
        }
    }
    std::stable_sort(meetings.begin(), meetings.end(), [&](const Met& a, const Met& b) {
        return leaves_by(situation, a) < leaves_by(situation, b);
    });
    std::vector<Way> ways;
    for (const Met& met : meetings) {
        if (is_too_late(ways, leaves_by(situation, met))) {
            break;
        }
        if (auto way = way_over(situation, referral, first, second, *other, met)) {
            remark_shift_ends(situation, first_vehicle, second, *other, *way);
            ways.push_back(*std::move(way));
        }
    }
    rank_ways(situation, referral, ways);
    return ways.empty() ? std::nullopt : std::optional{std::move(ways.front())};
}

}  // namespace waybourne::dispatch
