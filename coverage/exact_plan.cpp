#include <algorithm>
#include <chrono>
#include <iterator>
#include <map>
#include <set>

#include "coverage/internal/best_value.hpp"
#include "coverage/internal/location_state.hpp"
#include "coverage/internal/option_columns.hpp"

namespace waybourne::coverage {

namespace {

using Term = IntegerProgramme::Term;
constexpr double none = IntegerProgramme::without_limit;

/// Which options serve each settlement, with what value.
std::vector<std::vector<std::pair<std::uint32_t, double>>> options_of(const LocationModel& model) {
    std::vector<std::vector<std::pair<std::uint32_t, double>>> options(model.births.size());
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        for (const Served& one : model.serves[option]) {
            options[one.settlement].emplace_back(option, one.value);
        }
    }
    return options;
}

/// Counted covers. Settlements with the same options count as one (exact). @return terms of the sum
/// of what is gained
std::vector<Term> add_counted(const LocationModel& model, IntegerProgramme& programme,
                              bool as_gains) {
    std::map<std::pair<std::vector<std::uint32_t>, std::size_t>, double> merged;
    const auto options = options_of(model);
    for (std::size_t i = 0; i < options.size(); ++i) {
        std::vector<std::uint32_t> key;
        for (const auto& [option, value] : options[i]) {
            key.push_back(option);
        }
        if (!key.empty() && model.births[i] > 0) {
            const auto already =
                model.already.empty() ? 0 : static_cast<std::size_t>(model.already[i]);
            merged[{std::move(key), already}] += model.births[i];
        }
    }
    std::vector<Term> gained;
    for (const auto& [group, births] : merged) {
        std::vector<Term> row;
        const std::size_t most =
            std::min(model.by_count.size(), group.second + group.first.size() * model.most_of_one);
        for (std::size_t k = group.second; k < most && model.by_count[k] > 0; ++k) {
            const double worth = births * model.by_count[k];
            const int column = programme.add_column(as_gains ? worth : 0, 0, 1, false);
            row.push_back({column, 1});
            gained.push_back({column, worth});
        }
        if (row.empty()) {
            continue;
        }
        for (const std::uint32_t option : group.first) {
            row.push_back({static_cast<int>(option), -1});
        }
        programme.add_row(std::move(row), -none, 0);
    }
    return gained;
}

/// The best value counts: x of settlement i and option j, at most one per settlement.
void add_best(const LocationModel& model, IntegerProgramme& programme) {
    const auto options = options_of(model);
    for (std::size_t i = 0; i < options.size(); ++i) {
        std::vector<Term> one;
        for (const auto& [option, value] : options[i]) {
            const double worth =
                model.births[i] * (value - (model.already.empty() ? 0 : model.already[i]));
            if (worth > 0) {
                const int column = programme.add_column(worth, 0, 1, false);
                one.push_back({column, 1});
                programme.add_row({{column, 1}, {static_cast<int>(option), -1}}, -none, 0);
            }
        }
        if (!one.empty()) {
            programme.add_row(std::move(one), 0, 1);
        }
    }
}

/// A programme that was cut off before its first bound bounds nothing.
double told_bound(const IntegerProgramme::Solution& solution, double otherwise) {
    return solution.columns.empty() && !(solution.bound > 0) ? otherwise : solution.bound;
}

/// The plan in hand or the other, whichever is worth more, under the lower of the bounds.
Plan better_of(const LocationModel& model, const Plan& best, std::vector<std::uint32_t> options,
               double bound) {
    Plan plan{std::move(options), 0, 0, 0};
    plan.value = value_of(model, plan.options);
    if (plan.value <= best.value) {
        plan = best;
    }
    plan.cost = cost_of(model.options, plan.options);
    plan.bound = std::max(plan.value, std::min(bound, best.bound));
    return plan;
}

/// More than this, and CBC does not come to an end within a minute on the machine it was tried on.
constexpr std::size_t most_terms = 150'000;

/// The model without what the relaxation has settled.
struct Rest {
    LocationModel model;
    /// What the settled options are worth.
    double settled = 0;
    /// Pairs of settlement and option that are left.
    std::size_t terms = 0;
};

Rest rest_of(const LocationModel& model, const Relaxed& told) {
    Rest rest;
    rest.model.births = model.births;
    rest.model.options = model.options;
    rest.model.by_count.clear();
    rest.model.serves.resize(model.options.size());
    rest.model.already = values_already(model);
    std::vector<std::uint32_t> settled;
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        Choice& choice = rest.model.options[option].choice;
        if (told.is_out[option]) {
            choice = Choice::forced_out;
        } else if (told.is_in[option]) {
            choice = Choice::forced_in;
        }
        if (choice == Choice::forced_in) {
            settled.push_back(option);
            for (const Served& one : model.serves[option]) {
                double& there = rest.model.already[one.settlement];
                there = std::max(there, one.value);
            }
        }
    }
    rest.settled = value_of(model, settled);
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        if (rest.model.options[option].choice == Choice::free) {
            std::copy_if(model.serves[option].begin(), model.serves[option].end(),
                         std::back_inserter(rest.model.serves[option]), [&](const Served& one) {
                             return model.births[one.settlement] > 0 &&
                                    one.value > rest.model.already[one.settlement];
                         });
            rest.terms += rest.model.serves[option].size();
        }
    }
    return rest;
}

}  // namespace

Plan exact_plan(const LocationModel& model, const Limit& limit, Seconds time, double gap,
                const Work& work) {
    const auto ends = std::chrono::steady_clock::now() + time;
    Plan best = quick_plan(model, limit, work);
    if (best.is_proven() || best.gap() <= gap) {
        return best;
    }
    if (!model.by_count.empty()) {
        work.at("integer programme", -1);
        IntegerProgramme programme;
        add_options(model.options, model.most_of_one, limit, programme);
        add_counted(model, programme, true);
        const auto solution = programme.maximise(time, gap);
        return better_of(model, best, chosen_of(solution, model.options.size()),
                         told_bound(solution, best.bound));
    }
    const Relaxed told = relaxed(model, limit, best.options, time / 2, gap, work);
    best = better_of(model, best, best_exchanges(model, limit, told.options, work), told.bound);
    const Rest rest = rest_of(model, told);
    const auto left = std::chrono::duration_cast<Seconds>(ends - std::chrono::steady_clock::now());
    if (best.is_proven() || best.gap() <= gap || rest.terms > most_terms || left <= 0s) {
        return best;
    }
    work.at("integer programme", -1);
    IntegerProgramme programme;
    add_options(rest.model.options, 1, limit, programme);
    add_best(rest.model, programme);
    const auto solution = programme.maximise(left, gap);
    // what was settled is so for better plans alone: the value in hand may be the best
    return better_of(
        model, best, chosen_of(solution, model.options.size()),
        solution.is_impossible ? best.value : rest.settled + told_bound(solution, best.bound));
}

Plan robust_plan(std::span<const LocationModel> seasons, const Limit& limit, Seconds time) {
    if (seasons.empty()) {
        throw InputError("no season was given");
    }
    IntegerProgramme programme;
    check_limit(seasons[0], limit);
    add_options(seasons[0].options, seasons[0].most_of_one, limit, programme);
    const int worst = programme.add_column(1, 0, none, false);
    for (const LocationModel& season : seasons) {
        std::vector<Term> row = add_counted(season, programme, false);
        row.push_back({worst, -1});
        programme.add_row(std::move(row), 0, none);
    }
    const auto solution = programme.maximise(time, 0);
    Plan plan;
    plan.options = chosen_of(solution, seasons[0].options.size());
    plan.cost = cost_of(seasons[0].options, plan.options);
    plan.value = value_of(seasons[0], plan.options);
    for (const LocationModel& season : seasons) {
        plan.value = std::min(plan.value, value_of(season, plan.options));
    }
    plan.bound = std::max(plan.value, solution.bound);
    return plan;
}

std::vector<Plan> cost_curve(const LocationModel& model, std::span<const double> budgets,
                             Seconds time_each, const Work& work) {
    std::vector<Plan> plans;
    for (const double budget : budgets) {
        work.at("plans", static_cast<double>(plans.size()) / static_cast<double>(budgets.size()));
        plans.push_back(exact_plan(model, {.budget = budget}, time_each, 0, work));
    }
    return plans;
}

Plan cheapest_full_cover(const LocationModel& model, std::vector<std::uint32_t>* unserved,
                         Seconds time) {
    IntegerProgramme programme;
    for (const Option& option : model.options) {
        programme.add_column(-option.cost, option.choice == Choice::forced_in ? 1 : 0,
                             option.choice == Choice::forced_out ? 0 : 1, true);
    }
    const auto options = options_of(model);
    std::set<std::vector<std::uint32_t>> rows;
    for (std::uint32_t i = 0; i < options.size(); ++i) {
        std::vector<std::uint32_t> serving;
        for (const auto& [option, value] : options[i]) {
            if (model.options[option].choice != Choice::forced_out) {
                serving.push_back(option);
            }
        }
        if (!serving.empty()) {
            rows.insert(std::move(serving));
        } else if (unserved != nullptr && (model.already.empty() || model.already[i] < 1)) {
            unserved->push_back(i);
        }
    }
    for (const std::vector<std::uint32_t>& serving : rows) {
        std::vector<Term> terms;
        terms.reserve(serving.size());
        for (const std::uint32_t option : serving) {
            terms.push_back({static_cast<int>(option), 1});
        }
        programme.add_row(std::move(terms), 1, none);
    }
    const auto solution = programme.maximise(time, 0);
    Plan plan;
    plan.options = chosen_of(solution, model.options.size());
    plan.cost = cost_of(model.options, plan.options);
    plan.value = -plan.cost;
    plan.bound = solution.columns.empty() ? 0 : std::max(plan.value, solution.bound);
    return plan;
}

}  // namespace waybourne::coverage
