#include <algorithm>

#include "dispatch/assignment.hpp"
#include "dispatch/internal/flow.hpp"
#include "dispatch/internal/promises.hpp"

namespace waybourne::dispatch {

namespace {

/// The choice as it stands: which option carries each woman, who has each vehicle.
class Standing {
public:
    Standing(const AssignmentProblem& problem, const std::vector<Cost>& costs)
        : problem_(problem),
          costs_(costs),
          option_of_(problem.women),
          vehicle_of_(problem.vehicles) {
        for (std::size_t index = 0; index < problem.options.size(); ++index) {
            const TransportOption& option = problem.options[index];
            if (option.women.size() == 1 && option.vehicles.empty()) {
                auto& waits = waits_[option.women.front()];
                if (!waits || costs[index] < costs[*waits]) {
                    waits = index;
                }
            }
        }
    }

    void by_flow() {
        std::vector<FlowArc> arcs;
        std::vector<std::size_t> options;
        for (std::size_t index = 0; index < problem_.options.size(); ++index) {
            const TransportOption& option = problem_.options[index];
            if (option.women.size() == 1 && option.vehicles.size() <= 1) {
                arcs.push_back(
                    {option.women.front(),
                     option.vehicles.empty() ? problem_.vehicles : option.vehicles.front(),
                     costs_[index]});
                options.push_back(index);
            }
        }
        for (const std::size_t arc : cheapest_arcs(problem_.women, problem_.vehicles, arcs)) {
            take(options[arc]);
        }
    }

    /// Takes the option that saves most with those it displaces left to their own means; false when
    /// none saves anything.
    bool improve() {
        Cost most = 0;
        std::size_t best = problem_.options.size();
        for (std::size_t index = 0; index < problem_.options.size(); ++index) {
            const Cost saves = saved_by(index);
            if (saves > most) {
                most = saves;
                best = index;
            }
        }
        if (best == problem_.options.size()) {
            return false;
        }
        for (const std::size_t displaced : displaced_by(best)) {
            release(displaced);
        }
        take(best);
        for (std::size_t woman = 0; woman < problem_.women; ++woman) {
            if (!option_of_[woman]) {
                take(*waits_.at(woman));
            }
        }
        return true;
    }

    AssignmentPlan plan() const {
        AssignmentPlan plan;
        for (const auto& option : option_of_) {
            plan.chosen.push_back(*option);
        }
        std::sort(plan.chosen.begin(), plan.chosen.end());
        plan.chosen.erase(std::unique(plan.chosen.begin(), plan.chosen.end()), plan.chosen.end());
        for (const std::size_t option : plan.chosen) {
            plan.cost += problem_.options[option].cost;
        }
        return plan;
    }

private:
    std::vector<std::size_t> displaced_by(std::size_t index) const {
        std::vector<std::size_t> displaced;
        const TransportOption& option = problem_.options[index];
        for (const std::size_t woman : option.women) {
            displaced.push_back(*option_of_[woman]);
        }
        for (const std::size_t vehicle : option.vehicles) {
            if (vehicle_of_[vehicle]) {
                displaced.push_back(*vehicle_of_[vehicle]);
            }
        }
        std::sort(displaced.begin(), displaced.end());
        displaced.erase(std::unique(displaced.begin(), displaced.end()), displaced.end());
        return displaced;
    }
    Cost saved_by(std::size_t index) const {
        const TransportOption& option = problem_.options[index];
        Cost saves = -costs_[index];
        for (const std::size_t displaced : displaced_by(index)) {
            saves += costs_[displaced];
            for (const std::size_t woman : problem_.options[displaced].women) {
                const bool is_carried = std::find(option.women.begin(), option.women.end(),
                                                  woman) != option.women.end();
                saves -= is_carried ? 0 : costs_[*waits_.at(woman)];
            }
        }
        return saves;
    }
    void take(std::size_t index) {
        for (const std::size_t woman : problem_.options[index].women) {
            option_of_[woman] = index;
        }
        for (const std::size_t vehicle : problem_.options[index].vehicles) {
            vehicle_of_[vehicle] = index;
        }
    }
    void release(std::size_t index) {
        for (const std::size_t woman : problem_.options[index].women) {
            option_of_[woman].reset();
        }
        for (const std::size_t vehicle : problem_.options[index].vehicles) {
            vehicle_of_[vehicle].reset();
        }
    }

    const AssignmentProblem& problem_;
    const std::vector<Cost>& costs_;
    std::vector<std::optional<std::size_t>> option_of_;
    std::vector<std::optional<std::size_t>> vehicle_of_;
    std::vector<std::optional<std::size_t>> waits_ =
        std::vector<std::optional<std::size_t>>(problem_.women);
};

/// @param price of every woman who is given something else than was promised
AssignmentPlan at_a_price(const AssignmentProblem& problem, const std::vector<bool>& promised,
                          Cost price) {
    std::vector<Cost> costs;
    std::vector<std::size_t> changes;
    for (const TransportOption& option : problem.options) {
        changes.push_back(changes_of(option, promised));
        costs.push_back(option.cost + price * static_cast<Cost>(changes.back()));
    }
    Standing standing(problem, costs);
    standing.by_flow();
    const bool is_only_single = std::all_of(
        problem.options.begin(), problem.options.end(), [](const TransportOption& option) {
            return option.women.size() == 1 && option.vehicles.size() <= 1;
        });
    while (!is_only_single && standing.improve()) {
    }
    AssignmentPlan plan = standing.plan();
    for (const std::size_t option : plan.chosen) {
        plan.changed_promises += changes[option];
    }
    plan.is_optimal = is_only_single && price == 0;
    return plan;
}

}  // namespace

AssignmentPlan assign_many(const AssignmentProblem& problem) {
    check(problem);
    const std::vector<bool> promised = still_promised(problem);
    AssignmentPlan plan = at_a_price(problem, promised, 0);
    if (!problem.most_changed_promises) {
        return plan;
    }
    // The first price is five minutes' worth; the last more than any plan could save.
    constexpr Cost dearest = Cost{1} << 52;
    for (Cost price = 300;
         plan.changed_promises > *problem.most_changed_promises && price < dearest; price *= 4) {
        plan = at_a_price(problem, promised, price);
    }
    return plan;
}

}  // namespace waybourne::dispatch
