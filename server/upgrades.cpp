#include "server/upgrades.hpp"

#include <algorithm>
#include <array>
#include <numeric>

#include "server/coverage.hpp"
#include "server/upgrade_goal.hpp"

namespace waybourne::server {

namespace {

using coverage::Choice;
using coverage::LocationModel;

constexpr std::array time_factors{0.8, 1.0, 1.5};
constexpr std::size_t curve_points = 8;

/// By worth alone; 1 is the best, equal ones share a place. 0 where it cannot be raised.
std::vector<std::size_t> ranks_of(const UpgradeGoal& goal, const std::vector<double>& alone) {
    std::vector<std::size_t> ranks(alone.size());
    for (std::size_t one = 0; one < alone.size(); ++one) {
        if (goal.options()[one].choice == Choice::forced_out) {
            continue;
        }
        ranks[one] = 1;
        for (std::size_t other = 0; other < alone.size(); ++other) {
            ranks[one] += alone[other] > alone[one] + 1e-9 ? 1 : 0;
        }
    }
    return ranks;
}

std::vector<double> worth_alone(const UpgradeGoal& goal) {
    std::vector<double> alone;
    for (std::uint32_t one = 0; one < goal.options().size(); ++one) {
        alone.push_back(goal.options()[one].choice == Choice::forced_out
                            ? 0
                            : worth_of(goal, std::span(&one, 1)));
    }
    return alone;
}

void add_ranks(const Snapshot& snapshot, const UpgradeRequest& request, Instant now,
               const coverage::Work& work, UpgradeAnswer& answer) {
    for (const double factor : time_factors) {
        AccessStudy study(snapshot, request.coverage, {}, now, work, {.time_factor = factor});
        const UpgradeGoal goal = upgrade_goal(snapshot, request, study);
        const std::vector<double> alone = worth_alone(goal);
        const std::vector<std::size_t> ranks = ranks_of(goal, alone);
        for (Upgrade& upgrade : answer.upgrades) {
            upgrade.worth_alone.push_back(alone[upgrade.facility]);
            upgrade.ranks.push_back(ranks[upgrade.facility]);
        }
    }
}

std::vector<Upgrade> upgrades_of(const UpgradeGoal& goal, const coverage::Plan& plan) {
    std::vector<Upgrade> upgrades;
    const double births = coverage::value_of(goal.covering, plan.options);
    const double worth = worth_of(goal, plan.options);
    for (const std::uint32_t option : plan.options) {
        std::vector<std::uint32_t> others = plan.options;
        std::erase(others, option);
        upgrades.push_back({option,
                            goal.options()[option].cost,
                            births - coverage::value_of(goal.covering, others),
                            worth - worth_of(goal, others),
                            {},
                            {}});
    }
    return upgrades;
}

/// So many steps from nothing to the cost of everything, but for those that what is forced in
/// exceeds.
std::vector<double> budgets_of(const std::vector<coverage::Option>& options) {
    double all = 0;
    double forced = 0;
    for (const coverage::Option& option : options) {
        all += option.choice == Choice::forced_out ? 0 : option.cost;
        forced += option.choice == Choice::forced_in ? option.cost : 0;
    }
    std::vector<double> budgets;
    for (std::size_t i = 1; i <= curve_points && all > 0; ++i) {
        const double budget = all * static_cast<double>(i) / static_cast<double>(curve_points);
        if (budget >= forced) {
            budgets.push_back(budget);
        }
    }
    return budgets;
}

std::vector<BudgetPoint> curve_of(const UpgradeGoal& goal, Seconds time,
                                  const coverage::Work& work) {
    std::vector<BudgetPoint> points;
    for (const double budget : budgets_of(goal.options())) {
        const coverage::Plan plan = best_plan(goal, {.count = {}, .budget = budget}, time, work);
        points.push_back({budget,
                          plan.cost,
                          coverage::value_of(goal.covering, plan.options),
                          plan.value,
                          plan.bound,
                          {plan.options.begin(), plan.options.end()}});
    }
    return points;
}

/// Year after year the best that the year's money buys on top of what is there; what is left over
/// is not carried on.
std::vector<UpgradePhase> phases_of(UpgradeGoal goal, const UpgradeRequest& request,
                                    const coverage::Work& work) {
    std::vector<UpgradePhase> phases;
    double spent = 0;
    std::vector<std::uint32_t> before;
    for (const double budget : request.phases) {
        const coverage::Plan plan =
            best_plan(goal, {.count = {}, .budget = spent + budget}, request.time, work);
        UpgradePhase phase{budget,
                           {},
                           plan.cost - spent,
                           coverage::value_of(goal.covering, plan.options),
                           plan.value};
        std::set_difference(plan.options.begin(), plan.options.end(), before.begin(), before.end(),
                            std::back_inserter(phase.facilities));
        for (const std::uint32_t option : plan.options) {
            goal.options()[option].choice = Choice::forced_in;
        }
        spent = plan.cost;
        before = plan.options;
        phases.push_back(std::move(phase));
    }
    return phases;
}

/// The same options for the four seasons and hours, each with one more that stands for what is in
/// time already.
std::vector<LocationModel> seasons_of(const Snapshot& snapshot, const UpgradeRequest& request,
                                      Instant now, const coverage::Work& work) {
    std::vector<LocationModel> seasons;
    for (const ReportTime& time : report_times(snapshot, now)) {
        UpgradeRequest then = request;
        then.coverage.road_conditions = time.conditions;
        then.coverage.leave_at = time.leave_at;
        AccessStudy study(snapshot, then.coverage, {}, now, work);
        UpgradeGoal made = upgrade_goal(snapshot, then, study);
        std::vector<coverage::Served> there;
        for (std::uint32_t i = 0; i < made.is_in_time.size(); ++i) {
            if (made.is_in_time[i]) {
                there.push_back({i, 1});
            }
        }
        made.covering.already.clear();
        made.covering.options.push_back({.cost = 0, .choice = Choice::forced_in});
        made.covering.serves.push_back(std::move(there));
        seasons.push_back(std::move(made.covering));
    }
    return seasons;
}

void plan_for_the_worst(const Snapshot& snapshot, const UpgradeRequest& request, Instant now,
                        const coverage::Work& work, UpgradeAnswer& answer) {
    const auto seasons = seasons_of(snapshot, request, now, work);
    coverage::Limit limit = request.limit;
    if (limit.count && *limit.count > 0) {
        ++*limit.count;
    }
    answer.plan = coverage::robust_plan(seasons, limit, request.time);
    for (const LocationModel& season : seasons) {
        answer.births_by_season.push_back(coverage::value_of(season, answer.plan.options));
    }
    std::erase(answer.plan.options, static_cast<std::uint32_t>(seasons[0].options.size() - 1));
}

/// One year after the other; the whole stands against what all the money at once could bring.
void plan_in_phases(const UpgradeGoal& goal, const UpgradeRequest& request,
                    const coverage::Work& work, UpgradeAnswer& answer) {
    answer.phases = phases_of(goal, request, work);
    for (const UpgradePhase& phase : answer.phases) {
        answer.plan.cost += phase.cost;
        for (const std::size_t facility : phase.facilities) {
            answer.plan.options.push_back(static_cast<std::uint32_t>(facility));
        }
    }
    std::sort(answer.plan.options.begin(), answer.plan.options.end());
    answer.plan.value = answer.phases.back().worth;
    const double all = std::accumulate(request.phases.begin(), request.phases.end(), 0.0);
    answer.plan.bound = std::max(
        answer.plan.value, best_plan(goal, {.count = {}, .budget = all}, request.time, work).bound);
}

double sum_of(const std::vector<double>& births) {
    return std::accumulate(births.begin(), births.end(), 0.0);
}

/// The minutes that the objective is about, before and with the plan.
std::optional<MinutesTold> minutes_told(const UpgradeGoal& goal, const coverage::Plan& plan) {
    const bool is_mean = goal.objective == UpgradeObjective::median;
    if (!is_mean && goal.objective != UpgradeObjective::centre) {
        return std::nullopt;
    }
    const double births = sum_of(goal.minutes.births);
    const double parts = is_mean && births > 0 ? births : 1;
    const double now = is_mean ? coverage::birth_minutes(goal.minutes, {})
                               : coverage::greatest_minutes(goal.minutes, {});
    MinutesTold told{now / parts, (now - plan.value) / parts, (now - plan.bound) / parts, {}};
    const auto beyond = coverage::beyond_any_plan(goal.minutes);
    told.beyond_any_plan.assign(beyond.begin(), beyond.end());
    return told;
}

}  // namespace

UpgradeAnswer answer_upgrades(const Snapshot& snapshot, const UpgradeRequest& request, Instant now,
                              const coverage::Work& work) {
    AccessStudy study(snapshot, request.coverage, {}, now, work);
    UpgradeAnswer answer;
    answer.before = study.ask(request.coverage.question);
    const UpgradeGoal goal = upgrade_goal(snapshot, request, study);
    if (request.is_robust) {
        plan_for_the_worst(snapshot, request, now, work, answer);
    } else if (!request.phases.empty()) {
        plan_in_phases(goal, request, work, answer);
    } else {
        answer.plan = best_plan(goal, request.limit, request.time, work);
    }
    answer.births_gained = coverage::value_of(goal.covering, answer.plan.options);
    answer.minutes = minutes_told(goal, answer.plan);
    answer.without_capacity = goal.without_capacity;
    answer.upgrades = upgrades_of(goal, answer.plan);
    add_ranks(snapshot, request, now, work, answer);
    if (!request.is_robust) {
        answer.curve = curve_of(goal, request.time, work);
    }
    return answer;
}

}  // namespace waybourne::server
