#pragma once
/// Which facilities to raise for a budget.

#include <algorithm>
#include <string>
#include <vector>

#include "server/access_study.hpp"

namespace waybourne::server {

/// One facility of a plan.
struct Upgrade {
    /// Its number in the register.
    std::size_t facility = 0;
    double cost = 0;
    /// Births that are in time with it and would not be without it, the others in place.
    double births_only_by_it = 0;
    /// Births that it would bring alone, and its place among all that could be raised by that: 1 is
    /// the best. With all travel times × 0.8, × 1 and × 1.5.
    std::vector<double> births_alone;
    std::vector<std::size_t> ranks;
    /// The place is not the same under all three: whether it is worth more than another hangs on
    /// speeds that may be wrong.
    bool is_rank_sure() const {
        return std::all_of(ranks.begin(), ranks.end(),
                           [&](std::size_t rank) { return rank == ranks.front(); });
    }
};

/// What is raised in one year.
struct UpgradePhase {
    double budget = 0;
    /// The new ones.
    std::vector<std::size_t> facilities;
    double cost = 0;
    /// All until then.
    double births_gained = 0;
};

/// A point of the curve of births gained against cost.
struct BudgetPoint {
    double budget = 0;
    double cost = 0;
    double births_gained = 0;
    double no_plan_gains_more_than = 0;
    std::vector<std::size_t> facilities;
};

struct UpgradeAnswer {
    CoverageAnswer before;
    std::vector<Upgrade> upgrades;
    /// Its value is births gained; of a robust plan, births in time in the worst season and hour.
    coverage::Plan plan;
    /// One per year; empty where none were asked for.
    std::vector<UpgradePhase> phases;
    /// Up to what raising everything costs. Empty for a robust plan.
    std::vector<BudgetPoint> curve;
    /// Of a robust plan: births in time with it in each of the four seasons and hours.
    std::vector<double> births_by_season;
};

/// Each facility that does not offer all that is needed could be raised to do so, as a whole: what
/// would then be ready at any hour. With how little more a better plan could gain.
/// @throws InputError where every facility offers it already, for a budget of nothing, costs of a
///         facility that there is not, and as `answer_coverage`
UpgradeAnswer answer_upgrades(const Snapshot& snapshot, const UpgradeRequest& request, Instant now,
                              const coverage::Work& work = {});

}  // namespace waybourne::server
