#include "dispatch/internal/exact_search.hpp"

#include <algorithm>
#include <limits>
#include <numeric>

#include "dispatch/internal/promises.hpp"

namespace waybourne::dispatch {

namespace {

/// One search through the options of the women, one woman after the other.
class Search {
public:
    Search(const AssignmentProblem& problem, std::size_t most_steps, Cost below)
        : problem_(problem),
          options_of_(problem.women),
          least_(problem.women, std::numeric_limits<Cost>::max()),
          promised_(still_promised(problem)),
          is_served_(problem.women, false),
          is_used_(problem.vehicles, false),
          most_steps_(most_steps),
          below_(below) {
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

    Searched run() {
        const Cost bound = std::accumulate(least_.begin(), least_.end(), Cost{0});
        const bool is_complete = serve(0, 0, bound);
        if (best_) {
            best_->is_optimal = is_complete;
        }
        return {std::move(best_), is_complete, steps_};
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
            best_ = AssignmentPlan{std::move(chosen), cost, changes, false};
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
            if (!is_free(option) || !is_allowed(changed) || next >= below_ ||
                (best_ && next > best_->cost)) {
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
    Cost below_;
};

}  // namespace

Searched search_exactly(const AssignmentProblem& problem, std::size_t most_steps, Cost below) {
    return Search(problem, most_steps, below).run();
}

}  // namespace waybourne::dispatch
