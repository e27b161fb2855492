#pragma once
/// The questions about ways alone, each as one function of a snapshot, a request and the moment.

#include <optional>
#include <string>
#include <vector>

#include "routing/alternatives.hpp"
#include "routing/route.hpp"
#include "server/request.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// As given, or as season and daylight make them at that moment: what planners' questions take for
/// the whole way. A trip's own are those of `RoadsAhead`.
routing::RoadConditions conditions_of(const Snapshot& snapshot,
                                      const std::optional<routing::RoadConditions>& given,
                                      Instant at);

/// Where on the roads a place lies.
/// @param pointer where the place stands in the request
/// @throws InputError for a place off the map; NotFound for an unknown facility, with the nearest
///         id
routing::Snap snap_of(const Snapshot& snapshot, const Roads::State& roads, const Place& place,
                      const std::string& pointer);

/// A way, and under which conditions.
struct RouteAnswer {
    /// None: no way for these means under these conditions.
    std::optional<routing::Route> route;
    /// Those it is judged by: night where it gets dark before the arrival by `allow`.
    routing::RoadConditions road_conditions;
    Instant leave_at{};
};

/// @throws InputError, NotFound as above; Unavailable when every search is busy
RouteAnswer answer_route(const Snapshot& snapshot, const RouteRequest& request, Instant now);

/// The best way and the others worth knowing.
struct AlternativesAnswer {
    /// The best first; empty where there is no way.
    std::vector<routing::Alternative> ways;
    /// Those all of them are judged by: the worst until the last of them arrives by `allow`.
    routing::RoadConditions road_conditions;
    Instant leave_at{};
};

/// @throws InputError, NotFound, Unavailable as above; InputError too where no road of the map is
///         meant by one of those taken as closed
AlternativesAnswer answer_alternatives(const Snapshot& snapshot, const AlternativesRequest& request,
                                       Instant now);

/// How waiting for ferries and for roads with hours stands in a reach.
enum class Waiting : std::uint8_t {
    /// There is none of them inside.
    none,
    counted,
    /// On the drawn roads each of them counts its way alone, so more roads are drawn than those
    /// from where one gets there in time. The facilities' times wait.
    not_counted
};

std::string to_name(Waiting waiting);

/// What lies within a time of a place, or from where the place lies within it.
struct ReachAnswer {
    struct Facility {
        FacilityId facility;
        routing::TravelTime travel_time;
    };
    /// Inside, nearest first; the place itself too where it is a facility.
    std::vector<Facility> facilities;
    /// One line per stretch of road inside.
    std::vector<std::vector<GeoPoint>> lines;
    Metres road_length;
    Waiting waiting = Waiting::none;
    /// Those all of it is judged by: the worst until the time is over.
    routing::RoadConditions road_conditions;
    Instant leave_at{};
};

/// @throws InputError, NotFound, Unavailable as above
ReachAnswer answer_reach(const Snapshot& snapshot, const ReachRequest& request, Instant now);

}  // namespace waybourne::server
