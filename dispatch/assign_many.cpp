#include <algorithm>

#include "dispatch/assignment.hpp"
#include "dispatch/internal/exact_search.hpp"
#include "dispatch/internal/flow.hpp"
#include "dispatch/internal/promises.hpp"

namespace waybourne::dispatch {

namespace {

bool is_for_one(const TransportOption& option) {
    return option.women.size() == 1 && option.vehicles.size() <= 1;
}

/// The choice as it stands: which option carries each woman, who has each vehicle.
class Standing {
public:
    Standing(const AssignmentProblem& problem, const std::vector<Cost>& costs)
        : problem_(problem),
          costs_(costs),
          option_of_(problem.women),
          vehicle_of_(problem.vehicles),
          options_of_(problem.women) {
        for (std::size_t index = 0; index < problem.options.size(); ++index) {
            const TransportOption& option = problem.options[index];
            for (const std::size_t woman : option.women) {
                options_of_[woman].push_back(index);
            }
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
            if (is_for_one(option)) {
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

    /// Those who ride alone, with the vehicles that no ride together and no rendezvous has.
    void by_flow_again() {
        std::vector<FlowArc> arcs;
        std::vector<std::size_t> options;
        std::vector<std::size_t> alone;
        std::vector<std::size_t> number(problem_.women, problem_.women);
        for (std::size_t woman = 0; woman < problem_.women; ++woman) {
            if (is_alone(*option_of_[woman])) {
                number[woman] = alone.size();
                alone.push_back(woman);
            }
        }
        for (std::size_t index = 0; index < problem_.options.size(); ++index) {
            const TransportOption& option = problem_.options[index];
            const auto& holder =
                option.vehicles.empty() ? std::nullopt : vehicle_of_[option.vehicles.front()];
            if (is_alone(index) && number[option.women.front()] < alone.size() &&
                (!holder || is_alone(*holder))) {
                arcs.push_back(
                    {number[option.women.front()],
                     option.vehicles.empty() ? problem_.vehicles : option.vehicles.front(),
                     costs_[index]});
                options.push_back(index);
            }
        }
        std::vector<std::size_t> chosen;
        for (const std::size_t arc : cheapest_arcs(alone.size(), problem_.vehicles, arcs)) {
            chosen.push_back(options[arc]);
        }
        replace(alone, chosen);
    }

    /// Plans a few women anew, her and those whose vehicles or company she would like best, exactly
    /// where `steps` suffice, with the vehicles that they have and those that are free.
    /// @param passed_over how many of those she leaves out, so that others come in
    /// @return whether that is better
    bool plan_anew_around(std::size_t woman, std::size_t passed_over, std::size_t& steps) {
        const std::vector<std::size_t> women = around(woman, passed_over);
        std::vector<std::size_t> number(problem_.women, problem_.women);
        for (std::size_t index = 0; index < women.size(); ++index) {
            number[women[index]] = index;
        }
        const auto is_in = [&](std::size_t option) {
            return std::all_of(problem_.options[option].women.begin(),
                               problem_.options[option].women.end(),
                               [&](std::size_t one) { return number[one] < women.size(); });
        };
        AssignmentProblem few{women.size(), problem_.vehicles, {}, std::nullopt};
        std::vector<std::size_t> origin;
        for (const std::size_t one : women) {
            for (const std::size_t index : options_of_[one]) {
                const TransportOption& option = problem_.options[index];
                const bool is_first = option.women.front() == one;
                const bool is_free = std::all_of(
                    option.vehicles.begin(), option.vehicles.end(), [&](std::size_t vehicle) {
                        return !vehicle_of_[vehicle] || is_in(*vehicle_of_[vehicle]);
                    });
                if (is_first && is_free && is_in(index)) {
                    few.options.push_back({option.women, option.vehicles, costs_[index]});
                    for (std::size_t& each : few.options.back().women) {
                        each = number[each];
                    }
                    origin.push_back(index);
                }
            }
        }
        constexpr std::size_t most_steps = 4'000;
        const Searched searched =
            search_exactly(few, std::min(most_steps, steps), cost_of_all(women));
        steps -= std::min(steps, searched.steps);
        if (!searched.best) {
            return false;
        }
        std::vector<std::size_t> chosen;
        for (const std::size_t option : searched.best->chosen) {
            chosen.push_back(origin[option]);
        }
        replace(women, chosen);
        return true;
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
    bool is_alone(std::size_t index) const { return is_for_one(problem_.options[index]); }
    /// What all that carries these women costs; nobody else is carried by it.
    Cost cost_of_all(const std::vector<std::size_t>& women) const {
        Cost cost = 0;
        for (const std::size_t woman : women) {
            const std::size_t option = *option_of_[woman];
            cost += problem_.options[option].women.front() == woman ? costs_[option] : 0;
        }
        return cost;
    }
    /// @param chosen carries exactly those women
    void replace(const std::vector<std::size_t>& women, const std::vector<std::size_t>& chosen) {
        for (const std::size_t woman : women) {
            if (option_of_[woman]) {
                release(*option_of_[woman]);
            }
        }
        for (const std::size_t option : chosen) {
            take(option);
        }
    }
    /// Her options by what they cost more than what carries those women now, all shared evenly.
    std::vector<std::size_t> preferred_by(std::size_t woman) const {
        const auto share = [&](std::size_t one) {
            const std::size_t option = *option_of_[one];
            return costs_[option] / static_cast<Cost>(problem_.options[option].women.size());
        };
        std::vector<std::pair<Cost, std::size_t>> sorted;
        for (const std::size_t index : options_of_[woman]) {
            Cost more = costs_[index];
            for (const std::size_t one : problem_.options[index].women) {
                more -= share(one);
            }
            sorted.emplace_back(more, index);
        }
        std::sort(sorted.begin(), sorted.end());
        std::vector<std::size_t> options;
        options.reserve(sorted.size());
        for (const auto& one : sorted) {
            options.push_back(one.second);
        }
        return options;
    }
    /// Her and a few others, with all who ride with one of them; ascending.
    std::vector<std::size_t> around(std::size_t woman, std::size_t passed_over) const {
        constexpr std::size_t few = 7;
        std::vector<bool> is_in(problem_.women, false);
        std::size_t count = 0;
        const auto add = [&](std::size_t option) {
            for (const std::size_t one : problem_.options[option].women) {
                count += is_in[one] ? 0 : 1;
                is_in[one] = true;
            }
        };
        add(*option_of_[woman]);
        for (const std::size_t index : preferred_by(woman)) {
            for (const std::size_t displaced : displaced_by(index)) {
                const bool is_new = !is_in[problem_.options[displaced].women.front()];
                if (is_new && passed_over > 0) {
                    --passed_over;
                } else if (is_new && count < few) {
                    add(displaced);
                }
            }
        }
        std::vector<std::size_t> women;
        for (std::size_t one = 0; one < problem_.women; ++one) {
            if (is_in[one]) {
                women.push_back(one);
            }
        }
        return women;
    }
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
    std::vector<std::vector<std::size_t>> options_of_;
    std::vector<std::optional<std::size_t>> waits_ =
        std::vector<std::optional<std::size_t>>(problem_.women);
};

/// Plans a few women anew around each of them, round after round with other company, until nothing
/// is gained any more.
void plan_anew(std::size_t women, Standing& standing) {
    constexpr std::size_t most_steps = 300'000;
    constexpr std::size_t rounds_without_gain = 4;
    constexpr std::size_t passed_over_more = 2;
    std::size_t steps = most_steps;
    std::size_t since_gain = 0;
    while (since_gain < rounds_without_gain && steps > 0) {
        bool is_better = false;
        for (std::size_t woman = 0; woman < women && steps > 0; ++woman) {
            is_better |= standing.plan_anew_around(woman, since_gain * passed_over_more, steps);
        }
        standing.by_flow_again();
        since_gain = is_better ? 0 : since_gain + 1;
    }
}

/// @param price of every woman who is given something else than was promised
/// @param is_thorough a few women at a time are planned anew
AssignmentPlan at_a_price(const AssignmentProblem& problem, const std::vector<bool>& promised,
                          Cost price, bool is_thorough) {
    std::vector<Cost> costs;
    std::vector<std::size_t> changes;
    for (const TransportOption& option : problem.options) {
        changes.push_back(changes_of(option, promised));
        costs.push_back(option.cost + price * static_cast<Cost>(changes.back()));
    }
    Standing standing(problem, costs);
    standing.by_flow();
    const bool is_only_single =
        std::all_of(problem.options.begin(), problem.options.end(), is_for_one);
    while (!is_only_single && standing.improve()) {
    }
    if (!is_only_single && is_thorough) {
        plan_anew(problem.women, standing);
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
    AssignmentPlan plan = at_a_price(problem, promised, 0, true);
    const auto is_kept = [&](const AssignmentPlan& one) {
        return !problem.most_changed_promises ||
               one.changed_promises <= *problem.most_changed_promises;
    };
    if (is_kept(plan)) {
        return plan;
    }
    // The first price is five minutes' worth; the last more than any plan could save.
    constexpr Cost first = 300;
    constexpr Cost dearest = Cost{1} << 52;
    Cost price = first;
    plan = at_a_price(problem, promised, price, false);
    while (!is_kept(plan) && price * 4 < dearest) {
        price *= 4;
        plan = at_a_price(problem, promised, price, false);
    }
    AssignmentPlan thorough = at_a_price(problem, promised, price, true);
    return is_kept(thorough) && thorough.cost < plan.cost ? std::move(thorough) : std::move(plan);
}

}  // namespace waybourne::dispatch
