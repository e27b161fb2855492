#pragma once
/// Which roads, bridges, places and vehicles most births depend on.

#include <string>
#include <vector>

#include "coverage/critical_link.hpp"
#include "server/access_study.hpp"

namespace waybourne::server {

/// A road, or the stretch of it whose failure anywhere has the same outcome.
struct LinkFailure {
    /// As the map has it; empty for a road without a name.
    std::string road;
    routing::RoadId road_id;
    std::string road_class;
    bool is_bridge = false;
    bool is_ford = false;
    bool is_ferry = false;
    Metres length;
    coverage::Failure failure;
    /// One line per piece.
    std::vector<std::vector<GeoPoint>> lines;
    std::vector<routing::PieceId> pieces;
};

struct LinkPairFailure {
    /// Numbers of two of the links.
    std::size_t first = 0;
    std::size_t second = 0;
    coverage::Failure failure;
};

struct PlaceFailure {
    FacilityId facility;
    coverage::Failure failure;
};

/// Births in time that would not be, were this vehicle not there. Only where vehicles are sent or
/// walked to.
struct VehicleFailure {
    VehicleId vehicle;
    double births_lost = 0;
};

struct LinksAnswer {
    /// Most births lost first.
    std::vector<LinkFailure> links;
    /// Of the ten worst, those that lose more together than one by one; worst first.
    std::vector<LinkPairFailure> pairs;
    std::vector<PlaceFailure> places;
    std::vector<VehicleFailure> vehicles;
    /// Births in time by the nearest place, before anything fails.
    double births_in_time = 0;
    double births = 0;
    /// A ferry or a road with hours counts its way alone here.
    bool has_timetables = false;
    routing::RoadConditions road_conditions;
    Instant leave_at{};
    coverage::CareAssumptions assumptions;
};

/// The whole shape of a piece of road.
std::vector<GeoPoint> line_of(const routing::RoadNetwork& network, const routing::Piece& piece);

/// Every facility that offers all that is needed counts as ready; the nearest by typical time
/// decides, and its allowed time is judged. A vehicle is at hand, whatever the request says, but
/// for the vehicles' own failures.
/// @throws as `answer_coverage`, and InputError where no facility offers what is needed
LinksAnswer answer_links(const Snapshot& snapshot, const CoverageRequest& request, Instant now,
                         const coverage::Work& work = {});

}  // namespace waybourne::server
