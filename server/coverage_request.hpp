#pragma once
/// What planners ask, after reading and before anything has been worked out.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "coverage/capacities.hpp"
#include "coverage/catchment.hpp"
#include "coverage/indicator.hpp"
#include "coverage/upgrade_costs.hpp"
#include "coverage/what_if.hpp"
#include "routing/road_conditions.hpp"

namespace waybourne::server {

/// Who is in time, under which conditions. Part of every planner's question.
struct CoverageRequest {
    coverage::AccessQuestion question;
    coverage::ReadinessAssumption readiness = coverage::ReadinessAssumption::as_registered;
    coverage::Transport transport = coverage::Transport::at_hand;
    /// Of her own vehicle, or of the one she walks to.
    routing::Means means = routing::Means::car;
    /// None: now.
    std::optional<Instant> leave_at;
    /// None: from the clock and the district's season.
    std::optional<routing::RoadConditions> road_conditions;
    std::optional<double> births_per_1000;
    /// Of the places whose room for births is known.
    std::vector<coverage::Capacity> capacities;
    /// Files that a person names at a terminal; over the API always empty: the district's own.
    std::string settlements;
    /// Sub-districts; empty: as the settlements say.
    std::string areas;
};

struct CompetitionRequest {
    /// Its capacities are what is shared out.
    CoverageRequest coverage;
    std::vector<coverage::Zone> zones = coverage::district_zones();
    coverage::Catchment catchment = coverage::Catchment::two_step;
};

/// What the best upgrades make as great, or as little, as can be.
enum class UpgradeObjective : std::uint8_t {
    covering,  ///< births in time (maximal covering)
    capacity,  ///< births in time that find room at a place (covering with competition)
    median,    ///< the mean of minutes until care, over births (p-median)
    centre,    ///< the minutes of whoever waits longest (p-centre)
};

struct UpgradeRequest {
    CoverageRequest coverage;
    UpgradeObjective objective = UpgradeObjective::covering;
    coverage::Limit limit;
    /// Those not named cost 1 once.
    std::vector<coverage::UpgradeCost> costs;
    /// Running costs count for so many years.
    int years = 1;
    /// Not empty: what may be spent in each year, one after the other, instead of the limit.
    std::vector<double> phases;
    /// The worst of the four seasons and hours counts, instead of the conditions asked for.
    bool is_robust = false;
    /// Of the integer programme, each time it is asked.
    Seconds time{10s};
};

struct WhatIfRequest {
    CoverageRequest coverage;
    std::vector<coverage::Scenario> scenarios;
};

struct IndicatorRequest {
    std::vector<coverage::MonthlyCount> months;
    /// The indicators are of the twelve months that end with this one.
    coverage::Month last;
    /// None: the sum over the settlements, if all of them have one.
    std::optional<double> population;
    /// None: the births of the settlements over their population.
    std::optional<double> births_per_1000;
    std::optional<double> functioning;
    std::optional<double> functioning_comprehensive;
    /// The counts of the referral journal are asked for as well.
    bool from_journal = false;
    std::string settlements;
    std::string areas;
};

/// All that the district report tells.
struct ReportRequest {
    UpgradeRequest upgrades;
    /// Plans side by side; may be empty.
    std::vector<coverage::Scenario> scenarios;
    /// None: of the twelve months before this one, without monthly counts.
    std::optional<IndicatorRequest> indicators;
};

}  // namespace waybourne::server
