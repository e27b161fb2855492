#pragma once
/// Branch and bound over the women, with a bound on its steps.

#include <limits>

#include "dispatch/assignment.hpp"

namespace waybourne::dispatch {

struct Searched {
    /// The best that was found; none where nothing was found.
    std::optional<AssignmentPlan> best = {};
    /// Every plan that could be better was ruled out; false: the steps did not suffice.
    bool is_complete = false;
    /// How many options were tried.
    std::size_t steps = 0;
};

/// As `assign_exactly`, which says what is searched for.
/// @param problem one that `check` lets pass
/// @param below only plans that cost less are looked for
Searched search_exactly(const AssignmentProblem& problem, std::size_t most_steps,
                        Cost below = std::numeric_limits<Cost>::max());

}  // namespace waybourne::dispatch
