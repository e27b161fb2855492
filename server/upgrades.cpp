#include "server/upgrades.hpp"

#include <array>
#include <numeric>

#include "server/coverage.hpp"

namespace waybourne::server {

namespace {

using coverage::Choice;
using coverage::LocationModel;

constexpr std::array time_factors{0.8, 1.0, 1.5};
constexpr std::size_t curve_points = 8;

/// Births that each choice of facilities would bring in time, under one set of conditions.
struct Candidates {
    LocationModel model;
    std::vector<bool> is_in_time;
};

void set_costs(LocationModel& model, const facilities::FacilityRegister& places,
               const UpgradeRequest& request) {
    for (const coverage::UpgradeCost& cost : request.costs) {
        coverage::Option& option = model.options[places.position(cost.facility)];
        option.cost = cost.capital + cost.running * request.years;
        option.choice = cost.choice;
    }
}

Candidates candidates_of(const Snapshot& snapshot, const UpgradeRequest& request,
                         AccessStudy& study) {
    const auto accesses = study.ask(request.coverage.question).accesses;
    Candidates made;
    std::vector<double> births;
    for (std::size_t i = 0; i < accesses.size(); ++i) {
        births.push_back(study.settlements()[i].births_per_year);
        made.is_in_time.push_back(accesses[i].access == coverage::AccessClass::in_time);
    }
    const coverage::CareAssumptions& assumed = study.assumptions();
    const Seconds way = request.coverage.question.standard - assumed.preparation - assumed.handover;
    made.model = coverage::covering(study.ways(), births, way, made.is_in_time);
    set_costs(made.model, snapshot.facilities, request);
    bool is_any_free = false;
    for (std::size_t place = 0; place < made.model.options.size(); ++place) {
        if (study.clock().offers(place, request.coverage.question.needed)) {
            made.model.options[place].choice = Choice::forced_out;
        }
        is_any_free = is_any_free || made.model.options[place].choice != Choice::forced_out;
    }
    if (!is_any_free) {
        throw InputError("every facility offers all of it already, or must not be raised");
    }
    return made;
}

/// By births alone; 1 is the best, equal ones share a place. 0 where it cannot be raised.
std::vector<std::size_t> ranks_of(const LocationModel& model, const std::vector<double>& alone) {
    std::vector<std::size_t> ranks(alone.size());
    for (std::size_t one = 0; one < alone.size(); ++one) {
        if (model.options[one].choice == Choice::forced_out) {
            continue;
        }
        ranks[one] = 1;
        for (std::size_t other = 0; other < alone.size(); ++other) {
            ranks[one] += alone[other] > alone[one] + 1e-9 ? 1 : 0;
        }
    }
    return ranks;
}

std::vector<double> births_alone(const LocationModel& model) {
    std::vector<double> alone;
    for (std::uint32_t one = 0; one < model.options.size(); ++one) {
        alone.push_back(model.options[one].choice == Choice::forced_out
                            ? 0
                            : coverage::value_of(model, std::span(&one, 1)));
    }
    return alone;
}

void add_ranks(const Snapshot& snapshot, const UpgradeRequest& request, Instant now,
               const coverage::Work& work, UpgradeAnswer& answer) {
    for (const double factor : time_factors) {
        AccessStudy study(snapshot, request.coverage, {}, now, work, {.time_factor = factor});
        const LocationModel model = candidates_of(snapshot, request, study).model;
        const std::vector<double> alone = births_alone(model);
        const std::vector<std::size_t> ranks = ranks_of(model, alone);
        for (Upgrade& upgrade : answer.upgrades) {
            upgrade.births_alone.push_back(alone[upgrade.facility]);
            upgrade.ranks.push_back(ranks[upgrade.facility]);
        }
    }
}

std::vector<Upgrade> upgrades_of(const LocationModel& model, const coverage::Plan& plan) {
    std::vector<Upgrade> upgrades;
    for (const std::uint32_t option : plan.options) {
        std::vector<std::uint32_t> others = plan.options;
        std::erase(others, option);
        upgrades.push_back(
            {option,
             model.options[option].cost,
             coverage::value_of(model, plan.options) - coverage::value_of(model, others),
             {},
             {}});
    }
    return upgrades;
}

std::vector<BudgetPoint> curve_of(const LocationModel& model, Seconds time,
                                  const coverage::Work& work) {
    double all = 0;
    for (const coverage::Option& option : model.options) {
        all += option.choice == Choice::forced_out ? 0 : option.cost;
    }
    double forced = 0;
    for (const coverage::Option& option : model.options) {
        forced += option.choice == Choice::forced_in ? option.cost : 0;
    }
    std::vector<double> budgets;
    for (std::size_t i = 1; i <= curve_points && all > 0; ++i) {
        const double budget = all * static_cast<double>(i) / static_cast<double>(curve_points);
        if (budget >= forced) {
            budgets.push_back(budget);
        }
    }
    std::vector<BudgetPoint> points;
    const auto plans = coverage::cost_curve(model, budgets, time, work);
    for (std::size_t i = 0; i < plans.size(); ++i) {
        points.push_back({budgets[i],
                          plans[i].cost,
                          plans[i].value,
                          plans[i].bound,
                          {plans[i].options.begin(), plans[i].options.end()}});
    }
    return points;
}

/// Year after year the best that the year's money buys on top of what is there; what is left over
/// is not carried on.
std::vector<UpgradePhase> phases_of(LocationModel model, const UpgradeRequest& request,
                                    const coverage::Work& work) {
    std::vector<UpgradePhase> phases;
    double spent = 0;
    std::vector<std::uint32_t> before;
    for (const double budget : request.phases) {
        const coverage::Plan plan = coverage::exact_plan(
            model, {.count = {}, .budget = spent + budget}, request.time, 0, work);
        UpgradePhase phase{budget, {}, plan.cost - spent, plan.value};
        std::set_difference(plan.options.begin(), plan.options.end(), before.begin(), before.end(),
                            std::back_inserter(phase.facilities));
        for (const std::uint32_t option : plan.options) {
            model.options[option].choice = Choice::forced_in;
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
        Candidates made = candidates_of(snapshot, then, study);
        std::vector<coverage::Served> there;
        for (std::uint32_t i = 0; i < made.is_in_time.size(); ++i) {
            if (made.is_in_time[i]) {
                there.push_back({i, 1});
            }
        }
        made.model.already.clear();
        made.model.options.push_back({.cost = 0, .choice = Choice::forced_in});
        made.model.serves.push_back(std::move(there));
        seasons.push_back(std::move(made.model));
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

}  // namespace

UpgradeAnswer answer_upgrades(const Snapshot& snapshot, const UpgradeRequest& request, Instant now,
                              const coverage::Work& work) {
    AccessStudy study(snapshot, request.coverage, {}, now, work);
    UpgradeAnswer answer;
    answer.before = study.ask(request.coverage.question);
    const LocationModel model = candidates_of(snapshot, request, study).model;
    if (request.is_robust) {
        plan_for_the_worst(snapshot, request, now, work, answer);
    } else if (!request.phases.empty()) {
        answer.phases = phases_of(model, request, work);
        double all = 0;
        for (const UpgradePhase& phase : answer.phases) {
            all += phase.cost;
            for (const std::size_t facility : phase.facilities) {
                answer.plan.options.push_back(static_cast<std::uint32_t>(facility));
            }
        }
        std::sort(answer.plan.options.begin(), answer.plan.options.end());
        answer.plan.cost = all;
        answer.plan.value = answer.phases.back().births_gained;
        answer.plan.bound =
            coverage::exact_plan(
                model,
                {.count = {},
                 .budget = std::accumulate(request.phases.begin(), request.phases.end(), 0.0)},
                request.time, 0, work)
                .bound;
    } else {
        answer.plan = coverage::exact_plan(model, request.limit, request.time, 0, work);
    }
    answer.upgrades = upgrades_of(model, answer.plan);
    add_ranks(snapshot, request, now, work, answer);
    if (!request.is_robust) {
        answer.curve = curve_of(model, request.time, work);
    }
    return answer;
}

}  // namespace waybourne::server
