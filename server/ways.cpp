#include "server/ways.hpp"

#include <algorithm>

#include "routing/careful_router.hpp"
#include "routing/reach.hpp"
#include "server/roads_ahead.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// The metric with the roads closed that the request says.
std::shared_ptr<const routing::Metric> metric_of(const Roads::State& roads,
                                                 const std::vector<routing::Where>& closed) {
    if (closed.empty()) {
        return roads.metric();
    }
    std::vector<routing::PieceId> pieces;
    std::vector<FieldError> errors;
    for (std::size_t i = 0; i < closed.size(); ++i) {
        const auto meant = routing::pieces_at(roads.metric()->network(), closed[i]);
        if (meant.empty()) {
            errors.push_back({"#/closed/" + std::to_string(i),
                              "no road of the map has that id or name, or lies there"});
        }
        pieces.insert(pieces.end(), meant.begin(), meant.end());
    }
    if (!errors.empty()) {
        throw InputError("no road of the map is meant", errors);
    }
    return std::make_shared<const routing::Metric>(roads.metric()->without(pieces));
}

routing::Reach reach_of(const ReachRequest& request, const Roads::State& roads,
                        const routing::Snap& place, Instant leave_at) {
    routing::ReachSearch search{roads.metric()};
    if (request.is_from) {
        return search.from({&place, 1}, leave_at, request.within, request.judged_by);
    }
    return request.judged_by == routing::JudgedBy::typical
               ? search.to({&place, 1}, leave_at, request.within)
               : search.to({&place, 1}, request.within, request.judged_by);
}

Waiting waiting_of(const ReachRequest& request, const routing::Reach& reach) {
    if (!reach.has_timetables) {
        return Waiting::none;
    }
    return request.is_from || request.judged_by == routing::JudgedBy::typical
               ? Waiting::counted
               : Waiting::not_counted;
}

/// To every facility, or from every facility to the place; waiting counted.
std::vector<std::optional<routing::TravelTime>> facility_times(const Snapshot& snapshot,
                                                               const ReachRequest& request,
                                                               const Roads::State& roads,
                                                               const routing::Snap& place,
                                                               Instant leave_at) {
    std::vector<routing::Snap> facilities;
    for (const auto& snap : roads.facility_snaps()) {
        facilities.push_back(snap.value_or(routing::Snap{}));
    }
    Roads::Lease lease = snapshot.roads->lend(roads);
    if (request.is_from) {
        return lease.router().travel_times({place, leave_at}, facilities, request.within);
    }
    std::vector<std::optional<routing::TravelTime>> times;
    times.reserve(facilities.size());
    for (const routing::Snap& facility : facilities) {
        times.push_back(
            lease.router().travel_times({facility, leave_at}, {&place, 1}, request.within).front());
    }
    return times;
}

std::vector<ReachAnswer::Facility> facilities_inside(const Snapshot& snapshot,
                                                     const ReachRequest& request,
                                                     const Roads::State& roads,
                                                     const routing::Snap& place, Instant leave_at) {
    const auto times = facility_times(snapshot, request, roads, place, leave_at);
    std::vector<ReachAnswer::Facility> inside;
    for (std::size_t i = 0; i < times.size(); ++i) {
        if (times[i] && (request.judged_by == routing::JudgedBy::typical ||
                         times[i]->allow <= request.within)) {
            inside.push_back({snapshot.facilities.facilities()[i].id, *times[i]});
        }
    }
    std::stable_sort(inside.begin(), inside.end(), [&](const auto& a, const auto& b) {
        return a.travel_time.typical < b.travel_time.typical;
    });
    return inside;
}

GeoPoint point_of(const Snapshot& snapshot, const Place& place) {
    const auto* facility = std::get_if<FacilityId>(&place);
    return facility == nullptr ? std::get<GeoPoint>(place)
                               : snapshot.facilities.facility(*facility).point;
}

routing::Snap checked(const std::optional<routing::Snap>& snap, const Place& place,
                      const std::string& pointer) {
    if (!snap) {
        const auto* facility = std::get_if<FacilityId>(&place);
        throw InputError("a place is off the map",
                         {{pointer, (facility == nullptr ? "the point" : facility->value()) +
                                        " lies farther from every road of this map than can "
                                        "be walked; is the point right, and the district?"}});
    }
    return *snap;
}

/// The ways that there are when roads are at their worst from the departure to `to`.
std::vector<routing::Alternative> ways_until(const Snapshot& snapshot,
                                             const AlternativesRequest& request,
                                             const RoadsAhead& ahead, Instant leave_at,
                                             Instant to) {
    const auto metric = metric_of(ahead.state(leave_at, to), request.closed);
    const auto snap = [&](const Place& place, const std::string& pointer) {
        return checked(snapshot.roads->snap(point_of(snapshot, place), *metric), place, pointer);
    };
    routing::AlternativeLimits limits;
    limits.most = request.most_others;
    return routing::AlternativeSearch{metric}.find({snap(request.way.from, "#/from"), leave_at},
                                                   snap(request.way.to, "#/to"), limits);
}

Instant last_arrival(const std::vector<routing::Alternative>& ways, Instant leave_at) {
    Instant last = leave_at;
    for (const routing::Alternative& way : ways) {
        last = std::max(last, leave_at + way.route.travel_time.allow);
    }
    return last;
}

}  // namespace

routing::RoadConditions conditions_of(const Snapshot& snapshot,
                                      const std::optional<routing::RoadConditions>& given,
                                      Instant at) {
    return given ? *given : expected_conditions(snapshot.district, snapshot.zone, at);
}

routing::Snap snap_of(const Snapshot& snapshot, const Roads::State& roads, const Place& place,
                      const std::string& pointer) {
    const auto* facility = std::get_if<FacilityId>(&place);
    return checked(facility == nullptr
                       ? roads.snap(std::get<GeoPoint>(place))
                       : roads.facility_snaps().at(snapshot.facilities.position(*facility)),
                   place, pointer);
}

RouteAnswer answer_route(const Snapshot& snapshot, const RouteRequest& request, Instant now) {
    RouteAnswer answer;
    answer.leave_at = request.leave_at.value_or(now);
    const RoadsAhead ahead(snapshot, *snapshot.roads, request.means, request.road_conditions);
    const Roads::State roads = ahead.state(answer.leave_at);
    const routing::Snap from = snap_of(snapshot, roads, request.from, "#/from");
    const routing::Snap to = snap_of(snapshot, roads, request.to, "#/to");
    const auto judged = routing::CarefulRouter(ahead).judge({from, answer.leave_at}, to);
    answer.route = judged.route;
    answer.road_conditions = ahead.conditions(answer.leave_at, judged.until);
    return answer;
}

AlternativesAnswer answer_alternatives(const Snapshot& snapshot, const AlternativesRequest& request,
                                       Instant now) {
    const RouteRequest& way = request.way;
    AlternativesAnswer answer;
    answer.leave_at = way.leave_at.value_or(now);
    const RoadsAhead ahead(snapshot, *snapshot.roads, way.means, way.road_conditions);
    Instant to = answer.leave_at;
    answer.ways = ways_until(snapshot, request, ahead, answer.leave_at, to);
    for (auto turn = ahead.next_turn(answer.leave_at, to);
         turn && last_arrival(answer.ways, answer.leave_at) > *turn;
         turn = ahead.next_turn(answer.leave_at, to)) {
        to = *turn;
        answer.ways = ways_until(snapshot, request, ahead, answer.leave_at, to);
    }
    answer.road_conditions = ahead.conditions(answer.leave_at, to);
    return answer;
}

std::string to_name(Waiting waiting) {
    switch (waiting) {
        case Waiting::none:
            return "none";
        case Waiting::counted:
            return "counted";
        case Waiting::not_counted:
            break;
    }
    return "not_counted";
}

ReachAnswer answer_reach(const Snapshot& snapshot, const ReachRequest& request, Instant now) {
    ReachAnswer answer;
    answer.leave_at = request.leave_at.value_or(now);
    const RoadsAhead ahead(snapshot, *snapshot.roads, request.means, request.road_conditions);
    const Instant ends = answer.leave_at + request.within;
    answer.road_conditions = ahead.conditions(answer.leave_at, ends);
    const Roads::State roads = ahead.state(answer.leave_at, ends);
    const routing::Snap place =
        snap_of(snapshot, roads, request.place, request.is_from ? "#/from" : "#/to");
    const routing::Reach reach = reach_of(request, roads, place, answer.leave_at);
    answer.waiting = waiting_of(request, reach);
    answer.facilities = facilities_inside(snapshot, request, roads, place, answer.leave_at);
    std::uint64_t length_cm = 0;
    for (const routing::ReachedStretch& stretch : reach.stretches) {
        length_cm += stretch.to_cm - stretch.from_cm;
    }
    constexpr double cm_per_metre = 100;
    answer.road_length = Metres{static_cast<double>(length_cm) / cm_per_metre};
    answer.lines = routing::lines_of(roads.metric()->network(), reach);
    return answer;
}

}  // namespace waybourne::server
