#pragma once
/// A district under one set of conditions and one scenario, ready to be asked about any care.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "coverage/access.hpp"
#include "coverage/distribution.hpp"
#include "server/coverage_request.hpp"
#include "server/scenario_roads.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// Everything a figure can be traced to stands beside it.
struct CoverageAnswer {
    std::vector<coverage::Settlement> settlements;
    std::vector<coverage::SettlementAccess> accesses;
    /// With the scenario's changes; the numbers of places are positions in it.
    facilities::FacilityRegister facilities;
    /// Numbers of settlements whose nearest road is too far for a way to be told.
    std::vector<std::size_t> off_the_road;
    coverage::AccessTotal total;
    std::vector<coverage::AreaAccess> areas;
    std::vector<coverage::PlaceLoad> loads;
    /// Births a year that each place has room for, where that is known.
    std::vector<std::optional<double>> capacities;
    std::vector<coverage::CurvePoint> curve;
    std::optional<coverage::Distribution> distribution;
    /// Of the time until care by wealth, below 0 where the poor wait longer; none where no
    /// settlement has a rank.
    std::optional<double> concentration;
    routing::RoadConditions road_conditions;
    Instant leave_at{};
    coverage::CareAssumptions assumptions;
};

/// What is supposed to be otherwise than it is known to be.
struct Supposed {
    /// All times on the way are multiplied by it.
    double time_factor = 1;
    /// A vehicle of the district's that is not there.
    std::optional<VehicleId> vehicle_left_out = {};
};

/// Works out all ways once; a question costs little then. One thread's; `snapshot` must outlive it.
class AccessStudy {
public:
    /// @param request its question does not matter
    /// @throws InputError for a bad file or change; NotFound for a capacity of a facility that
    /// there
    ///         is not; Unavailable when stopped or every search is busy
    AccessStudy(const Snapshot& snapshot, const CoverageRequest& request,
                const coverage::Scenario& scenario, Instant now, const coverage::Work& work = {},
                const Supposed& supposed = {});

    CoverageAnswer ask(const coverage::AccessQuestion& question);
    /// The same without what hangs on single places and settlements.
    coverage::AccessTotal total(const coverage::AccessQuestion& question);

    const std::vector<coverage::Settlement>& settlements() const { return settlements_; }
    const facilities::FacilityRegister& facilities() const { return clock_->facilities(); }
    const coverage::TravelTimes& ways() const { return *ways_; }
    const coverage::CareAssumptions& assumptions() const { return assumptions_; }
    coverage::CareClock& clock() { return *clock_; }

private:
    struct Told {
        std::vector<coverage::Settlement> settlements;
        std::vector<coverage::SettlementAccess> accesses;
    };
    Told tell(const coverage::AccessQuestion& question);

    coverage::Scenario scenario_;
    std::vector<coverage::Settlement> settlements_;
    routing::RoadConditions road_conditions_;
    Instant leave_at_{};
    coverage::CareAssumptions assumptions_;
    /// Of the settlements, then of the waiting homes.
    std::vector<bool> is_on_the_map_;
    std::shared_ptr<const coverage::TravelTimes> ways_;
    std::optional<coverage::CareClock> clock_;
    std::vector<std::optional<double>> capacities_;
};

}  // namespace waybourne::server
