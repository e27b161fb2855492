#include "dispatch/assignment.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

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

/// One search through the options of the women, one woman after the other.
class Search {
public:
    Search(const AssignmentProblem& problem, std::size_t most_steps)
        : problem_(problem),
          options_of_(problem.women),
          least_(problem.women, std::numeric_limits<Cost>::max()),
          promised_(still_promised(problem)),
          is_served_(problem.women, false),
          is_used_(problem.vehicles, false),
          most_steps_(most_steps) {
        for (std::size_t index = 0; index < problem.options.size(); ++index) {
            const TransportOption& option = problem.options[index];
            const Cost share = option.cost / static_cast<Cost>(option.women.size());
            for (const std::size_t woman : option.women) {
                options_of_[woman].push_back(index);
                least_[woman] = std::min(least_[woman], share);
            }
        }
        for (auto& options : options_of_) {
            std::stable_sort(options.begin(), options.end(), [&](std::size_t a, std::size_t b) {
                return problem.options[a].cost < problem.options[b].cost;
            });
        }
        order_.resize(problem.women);
        std::iota(order_.begin(), order_.end(), std::size_t{0});
        std::stable_sort(order_.begin(), order_.end(),
                         [&](std::size_t a, std::size_t b) { return regret(a) > regret(b); });
    }

    std::optional<AssignmentPlan> run() {
        const Cost bound = std::accumulate(least_.begin(), least_.end(), Cost{0});
        if (!serve(0, 0, bound)) {
            return std::nullopt;
        }
        return best_;
    }

private:
    /// What she loses when her cheapest option is gone.
    Cost regret(std::size_t woman) const {
        const auto& options = options_of_[woman];
        return options.size() < 2
                   ? std::numeric_limits<Cost>::max()
                   : problem_.options[options[1]].cost - problem_.options[options[0]].cost;
    }
    bool is_free(const TransportOption& option) const {
        return std::none_of(option.women.begin(), option.women.end(),
                            [&](std::size_t woman) { return is_served_[woman]; }) &&
               std::none_of(option.vehicles.begin(), option.vehicles.end(),
                            [&](std::size_t vehicle) { return is_used_[vehicle]; });
    }
    void mark(const TransportOption& option, bool taken) {
        for (const std::size_t woman : option.women) {
            is_served_[woman] = taken;
        }
        for (const std::size_t vehicle : option.vehicles) {
            is_used_[vehicle] = taken;
        }
    }
    bool is_allowed(std::size_t changes) const {
        return !problem_.most_changed_promises || changes <= *problem_.most_changed_promises;
    }
    void keep(Cost cost, std::size_t changes) {
        std::vector<std::size_t> chosen = chosen_;
        std::sort(chosen.begin(), chosen.end());
        if (!best_ || cost < best_->cost || (cost == best_->cost && chosen < best_->chosen)) {
            best_ = AssignmentPlan{std::move(chosen), cost, changes, true};
        }
    }
    /// False once too many options have been tried.
    bool serve(std::size_t depth, std::size_t changes, Cost bound) {
        while (depth < order_.size() && is_served_[order_[depth]]) {
            ++depth;
        }
        if (depth == order_.size()) {
            keep(bound, changes);
            return true;
        }
        for (const std::size_t index : options_of_[order_[depth]]) {
            if (++steps_ > most_steps_) {
                return false;
            }
            const TransportOption& option = problem_.options[index];
            Cost next = bound + option.cost;
            for (const std::size_t woman : option.women) {
                next -= least_[woman];
            }
            const std::size_t changed = changes + changes_of(option, promised_);
            if (!is_free(option) || !is_allowed(changed) || (best_ && next > best_->cost)) {
                continue;
            }
            mark(option, true);
            chosen_.push_back(index);
            const bool goes_on = serve(depth + 1, changed, next);
            chosen_.pop_back();
            mark(option, false);
            if (!goes_on) {
                return false;
            }
        }
        return true;
    }

    const AssignmentProblem& problem_;
    std::vector<std::vector<std::size_t>> options_of_;
    std::vector<Cost> least_;
    std::vector<bool> promised_;
    std::vector<std::size_t> order_;
    std::vector<bool> is_served_;
    std::vector<bool> is_used_;
    std::vector<std::size_t> chosen_;
    std::optional<AssignmentPlan> best_;
    std::size_t steps_ = 0;
    std::size_t most_steps_;
};

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
    return Search(problem, most_steps).run();
}

AssignmentPlan assign(const AssignmentProblem& problem) {
    constexpr std::size_t quick_steps = 20'000;
    if (auto exact = assign_exactly(problem, quick_steps)) {
        return *std::move(exact);
    }
    return assign_many(problem);
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
    answer.costs_more = answer.plan.cost - assign(free).cost;
    return answer;
}

}  // namespace waybourne::dispatch
