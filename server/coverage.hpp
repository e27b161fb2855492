#pragma once
/// Planners' questions, each as one function of a snapshot, a question and the moment.

#include <optional>
#include <string>
#include <vector>

#include "coverage/access.hpp"
#include "coverage/distribution.hpp"
#include "coverage/location.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// `waybourne coverage`.
struct CoverageRequest {
    coverage::AccessQuestion question;
    coverage::ReadinessAssumption readiness = coverage::ReadinessAssumption::as_registered;
    routing::Means means = routing::Means::car;
    /// None: now.
    std::optional<Instant> leave_at;
    /// None: from the clock and the district's season.
    std::optional<routing::RoadConditions> road_conditions;
    /// A file of settlements; empty: the district's own.
    std::string settlements;
    /// A file of sub-districts; empty: as the settlements say.
    std::string areas;
    std::optional<double> births_per_1000;
};

/// Everything a figure can be traced to stands beside it.
struct CoverageAnswer {
    std::vector<coverage::Settlement> settlements;
    std::vector<coverage::SettlementAccess> accesses;
    /// Numbers of settlements whose nearest road is too far for a way to be told.
    std::vector<std::size_t> off_the_road;
    coverage::AccessTotal total;
    std::vector<coverage::AreaAccess> areas;
    std::vector<coverage::PlaceLoad> loads;
    std::vector<coverage::CurvePoint> curve;
    std::optional<coverage::Distribution> distribution;
    routing::RoadConditions road_conditions;
    Instant leave_at{};
    coverage::CareAssumptions assumptions;
    std::shared_ptr<const coverage::TravelTimes> ways;
};

/// @throws InputError for a bad file or question; Unavailable when stopped or every search is busy
CoverageAnswer answer_coverage(const Snapshot& snapshot, const CoverageRequest& request,
                               Instant now, const coverage::Work& work = {});

struct UpgradeRequest {
    CoverageRequest coverage;
    coverage::Limit limit;
    /// CSV with `facility,cost`; empty: each costs 1.
    std::string costs;
    /// Of the integer programme.
    Seconds time{20s};
};

struct UpgradeAnswer {
    CoverageAnswer before;
    /// Facilities to raise to all that is needed, by their number in the register.
    std::vector<std::size_t> facilities;
    /// In the same order: births that are in time with it and would not be without it, the others
    /// in place.
    std::vector<double> births_of_each;
    coverage::Plan plan;
};

/// Each facility that does not offer all that is needed could be raised to do so, as a whole: what
/// would then be ready at any hour. With how little more a better plan could gain.
/// @throws InputError where every facility offers it already, and as above
UpgradeAnswer answer_upgrades(const Snapshot& snapshot, const UpgradeRequest& request, Instant now,
                              const coverage::Work& work = {});

}  // namespace waybourne::server
