#include "dispatch/assignment.hpp"

#include <algorithm>
#include <cmath>

#include "dispatch/internal/exact_search.hpp"
#include "dispatch/internal/promises.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

constexpr Cost of_a_thousandth = 100'000'000;
constexpr double thousandths = 1000;

bool are_distinct_below(std::vector<std::size_t> indices, std::size_t bound) {
    std::sort(indices.begin(), indices.end());
    return std::adjacent_find(indices.begin(), indices.end()) == indices.end() &&
           (indices.empty() || indices.back() < bound);
}

bool share_anything(const TransportOption& one, const TransportOption& other) {
    const auto meet = [](const auto& some, const auto& others) {
        return std::any_of(some.begin(), some.end(), [&](std::size_t each) {
            return std::find(others.begin(), others.end(), each) != others.end();
        });
    };
    return meet(one.women, other.women) || meet(one.vehicles, other.vehicles);
}

}  // namespace

std::vector<bool> still_promised(const AssignmentProblem& problem) {
    std::vector<bool> promised(problem.women, false);
    for (const TransportOption& option : problem.options) {
        for (const std::size_t woman : option.women) {
            promised[woman] = promised[woman] || option.is_promised;
        }
    }
    return promised;
}

std::size_t changes_of(const TransportOption& option, const std::vector<bool>& promised) {
    return option.is_promised ? 0
                              : static_cast<std::size_t>(std::count_if(
                                    option.women.begin(), option.women.end(),
                                    [&](std::size_t woman) { return promised[woman]; }));
}

Cost cost_of(double lateness, Seconds until_last_need) {
    return of_a_thousandth * static_cast<Cost>(std::llround(lateness * thousandths)) +
           until_last_need.count();
}

double lateness_in(Cost cost) {
    const Cost rounded =
        (cost + (cost < 0 ? -of_a_thousandth : of_a_thousandth) / 2) / of_a_thousandth;
    return static_cast<double>(rounded) / thousandths;
}

Seconds seconds_in(Cost cost) {
    return Seconds{cost - of_a_thousandth *
                              static_cast<Cost>(std::llround(lateness_in(cost) * thousandths))};
}

void check(const AssignmentProblem& problem) {
    std::vector<bool> can_wait(problem.women, false);
    for (const TransportOption& option : problem.options) {
        if (option.women.empty() || option.cost < 0 ||
            !are_distinct_below(option.women, problem.women) ||
            !are_distinct_below(option.vehicles, problem.vehicles)) {
            throw InputError(
                "an option names nobody, somebody twice, who does not exist, or a "
                "negative cost");
        }
        if (option.women.size() == 1 && option.vehicles.empty()) {
            can_wait[option.women.front()] = true;
        }
    }
    if (std::find(can_wait.begin(), can_wait.end(), false) != can_wait.end()) {
        throw InputError("a woman has no option that needs no vehicle");
    }
}

std::optional<AssignmentPlan> assign_exactly(const AssignmentProblem& problem,
                                             std::size_t most_steps) {
    check(problem);
    Searched searched = search_exactly(problem, most_steps);
    return searched.is_complete ? std::move(searched.best) : std::nullopt;
}

AssignmentPlan assign(const AssignmentProblem& problem) {
    constexpr std::size_t quick_steps = 20'000;
    check(problem);
    Searched searched = search_exactly(problem, quick_steps);
    if (searched.is_complete) {
        return *std::move(searched.best);
    }
    AssignmentPlan many = assign_many(problem);
    return searched.best && searched.best->cost < many.cost ? *std::move(searched.best)
                                                            : std::move(many);
}

Override with_forced(const AssignmentProblem& problem, std::size_t option) {
    if (option >= problem.options.size()) {
        throw InputError("there is no option " + std::to_string(option));
    }
    const TransportOption& forced = problem.options[option];
    AssignmentProblem rest{problem.women, problem.vehicles, {}, std::nullopt};
    std::vector<std::size_t> origin;
    for (std::size_t index = 0; index < problem.options.size(); ++index) {
        if (!share_anything(problem.options[index], forced)) {
            rest.options.push_back(problem.options[index]);
            origin.push_back(index);
        }
    }
    // Those carried by the forced option cost nothing in what is left to decide.
    for (const std::size_t woman : forced.women) {
        rest.options.push_back({{woman}, {}, 0});
    }
    const AssignmentPlan others = assign(rest);
    Override answer;
    answer.plan = {{option}, others.cost + forced.cost, 0, others.is_optimal};
    for (const std::size_t chosen : others.chosen) {
        if (chosen < origin.size()) {
            answer.plan.chosen.push_back(origin[chosen]);
        }
    }
    std::sort(answer.plan.chosen.begin(), answer.plan.chosen.end());
    AssignmentProblem free = problem;
    free.most_changed_promises.reset();
    // What is forced is a plan, too: where it is better than the best that was found without, it is
    // the best that is known.
    answer.costs_more = std::max(Cost{0}, answer.plan.cost - assign(free).cost);
    return answer;
}

}  // namespace waybourne::dispatch
