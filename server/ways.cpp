#include "server/ways.hpp"

#include <algorithm>

#include "routing/reach.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// The metric with the roads closed that the request says.
std::shared_ptr<const routing::Metric> metric_of(const Roads::Lease& lease,
                                                 const std::vector<routing::Where>& closed) {
    if (closed.empty()) {
        return lease.metric();
    }
    std::vector<routing::PieceId> pieces;
    std::vector<FieldError> errors;
    for (std::size_t i = 0; i < closed.size(); ++i) {
        const auto meant = routing::pieces_at(lease.metric()->network(), closed[i]);
        if (meant.empty()) {
            errors.push_back({"#/closed/" + std::to_string(i),
                              "no road of the map has that id or name, or lies there"});
        }
        pieces.insert(pieces.end(), meant.begin(), meant.end());
    }
    if (!errors.empty()) {
        throw InputError("no road of the map is meant", errors);
    }
    return std::make_shared<const routing::Metric>(lease.metric()->without(pieces));
}

routing::Reach reach_of(const ReachRequest& request, const Roads::Lease& lease,
                        const routing::Snap& place, Instant leave_at) {
    routing::ReachSearch search{lease.metric()};
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
std::vector<std::optional<routing::TravelTime>> facility_times(const ReachRequest& request,
                                                               Roads::Lease& lease,
                                                               const routing::Snap& place,
                                                               Instant leave_at) {
    std::vector<routing::Snap> facilities;
    for (const auto& snap : lease.facility_snaps()) {
        facilities.push_back(snap.value_or(routing::Snap{}));
    }
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
                                                     Roads::Lease& lease,
                                                     const routing::Snap& place, Instant leave_at) {
    const auto times = facility_times(request, lease, place, leave_at);
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

}  // namespace

routing::RoadConditions conditions_of(const Snapshot& snapshot,
                                      const std::optional<routing::RoadConditions>& given,
                                      Instant at) {
    return given ? *given : expected_conditions(snapshot.district, snapshot.zone, at);
}

routing::Snap snap_of(const Snapshot& snapshot, const Roads::Lease& lease, const Place& place,
                      const std::string& pointer) {
    std::optional<routing::Snap> snap;
    std::string which;
    if (const auto* facility = std::get_if<FacilityId>(&place)) {
        snap = lease.facility_snaps().at(snapshot.facilities.position(*facility));
        which = facility->value();
    } else {
        snap = lease.snap(std::get<GeoPoint>(place));
        which = "the point";
    }
    if (!snap) {
        throw InputError("a place is off the map",
                         {{pointer, which + " lies farther from every road of this map than can "
                                            "be walked; is the point right, and the district?"}});
    }
    return *snap;
}

RouteAnswer answer_route(const Snapshot& snapshot, const RouteRequest& request, Instant now) {
    RouteAnswer answer;
    answer.leave_at = request.leave_at.value_or(now);
    answer.road_conditions = conditions_of(snapshot, request.road_conditions, answer.leave_at);
    Roads::Lease lease =
        snapshot.roads->lend({request.means, answer.road_conditions}, answer.leave_at);
    const routing::Snap from = snap_of(snapshot, lease, request.from, "#/from");
    const routing::Snap to = snap_of(snapshot, lease, request.to, "#/to");
    answer.route = lease.router().route({from, answer.leave_at}, to);
    return answer;
}

AlternativesAnswer answer_alternatives(const Snapshot& snapshot, const AlternativesRequest& request,
                                       Instant now) {
    const RouteRequest& way = request.way;
    AlternativesAnswer answer;
    answer.leave_at = way.leave_at.value_or(now);
    answer.road_conditions = conditions_of(snapshot, way.road_conditions, answer.leave_at);
    const Roads::Lease lease =
        snapshot.roads->lend({way.means, answer.road_conditions}, answer.leave_at);
    const routing::Snap from = snap_of(snapshot, lease, way.from, "#/from");
    const routing::Snap to = snap_of(snapshot, lease, way.to, "#/to");
    routing::AlternativeLimits limits;
    limits.most = request.most_others;
    answer.ways = routing::AlternativeSearch{metric_of(lease, request.closed)}.find(
        {from, answer.leave_at}, to, limits);
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
    answer.road_conditions = conditions_of(snapshot, request.road_conditions, answer.leave_at);
    Roads::Lease lease =
        snapshot.roads->lend({request.means, answer.road_conditions}, answer.leave_at);
    const routing::Snap place =
        snap_of(snapshot, lease, request.place, request.is_from ? "#/from" : "#/to");
    const routing::Reach reach = reach_of(request, lease, place, answer.leave_at);
    answer.waiting = waiting_of(request, reach);
    answer.facilities = facilities_inside(snapshot, request, lease, place, answer.leave_at);
    std::uint64_t length_cm = 0;
    for (const routing::ReachedStretch& stretch : reach.stretches) {
        length_cm += stretch.to_cm - stretch.from_cm;
    }
    constexpr double cm_per_metre = 100;
    answer.road_length = Metres{static_cast<double>(length_cm) / cm_per_metre};
    answer.lines = routing::lines_of(lease.metric()->network(), reach);
    return answer;
}

}  // namespace waybourne::server
