#pragma once
/// Which facilities to raise for a budget.

#include <algorithm>
#include <optional>
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
    /// The same by the objective's own measure (`worth_of`).
    double worth_only_by_it = 0;
    /// What it would gain alone by that measure, and its place among all that could be raised: 1 is
    /// the best. With all travel times × 0.8, × 1 and × 1.5.
    std::vector<double> worth_alone;
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
    /// All until then: births in time, and by the objective's own measure.
    double births_gained = 0;
    double worth = 0;
};

/// A point of the curve of births gained against cost.
struct BudgetPoint {
    double budget = 0;
    double cost = 0;
    /// In time.
    double births_gained = 0;
    /// By the objective's own measure, and what no plan exceeds.
    double worth = 0;
    double bound = 0;
    std::vector<std::size_t> facilities;
};

/// Minutes until care: their mean over births, or those of whoever waits longest.
struct MinutesTold {
    double before = 0;
    double after = 0;
    double no_plan_has_less_than = 0;
    /// Numbers of settlements that no plan could reach; in the mean they count as taking a day.
    std::vector<std::size_t> beyond_any_plan;
};

struct UpgradeAnswer {
    CoverageAnswer before;
    std::vector<Upgrade> upgrades;
    /// Its value is what is gained by the objective's own measure (`worth_of`); of a robust plan,
    /// births in time in the worst season and hour.
    coverage::Plan plan;
    /// More births in time with it, whatever the objective.
    double births_gained = 0;
    /// Of median and centre only.
    std::optional<MinutesTold> minutes;
    /// Of capacity only: facilities whose room nobody says; it is taken to suffice.
    std::vector<std::size_t> without_capacity;
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
