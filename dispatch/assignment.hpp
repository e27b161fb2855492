#pragma once
/// Who goes with what, over all open referrals: the choice among ways that are already worked out.
///
/// Minimise, over all choices of one option for every woman with no vehicle used twice,
///
///     Σ cost(option)       cost = 10⁸ · round(1000 · lateness) + seconds until her last need
///     begins
///
/// summed over the women an option carries, where lateness = Σ over her needs of weight × time late
/// ÷ time allowed, as in referral/choice.hpp: urgency is in the time allowed and in the weight of
/// critical needs. 10⁸ seconds are more than thirty women could wait in a week each, so no saving
/// of time ever pays for lateness. All whole numbers: the same plan on every machine.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "vocabulary/time.hpp"

namespace waybourne::dispatch {

/// 10⁸ · thousandths of lateness + seconds.
using Cost = std::int64_t;
Cost cost_of(double lateness, Seconds until_last_need);
/// The two parts of a cost or a difference of costs, the seconds between -5·10⁷ and 5·10⁷.
double lateness_in(Cost cost);
Seconds seconds_in(Cost cost);

/// One way of carrying one woman, or two who ride together.
struct TransportOption {
    std::vector<std::size_t> women;
    /// None: her own transport, or waiting. Two: a rendezvous.
    std::vector<std::size_t> vehicles;
    Cost cost = 0;
    /// What has been promised to everybody it carries.
    bool is_promised = false;
};

struct AssignmentProblem {
    std::size_t women = 0;
    std::size_t vehicles = 0;
    /// Every woman has an option without a vehicle, so that a plan always exists.
    std::vector<TransportOption> options;
    /// How many women may be given something else than was promised to them; none: any number. A
    /// promise that no option keeps any more (a vehicle lost) is not counted.
    std::optional<std::size_t> most_changed_promises = {};
};

struct AssignmentPlan {
    /// Indices of options, ascending.
    std::vector<std::size_t> chosen;
    Cost cost = 0;
    std::size_t changed_promises = 0;
    /// Proven to be the least; false: the best that was found.
    bool is_optimal = false;
    bool operator==(const AssignmentPlan&) const = default;
};

/// @throws InputError for an option that names who does not exist or one thing twice, and for a
///         woman without an option of her own that needs no vehicle
void check(const AssignmentProblem& problem);

/// Branch and bound over the women, the one with most to lose first; the bound is the sum of
/// everybody's cheapest option left. Exact. Of equally cheap plans the one whose options come
/// first. None when more than `most_steps` options had to be tried.
std::optional<AssignmentPlan> assign_exactly(const AssignmentProblem& problem,
                                             std::size_t most_steps = 2'000'000);

/// Minimum-cost flow (LEMON's network simplex; Király, Kovács, Acta Univ. Sapientiae, Informatica
/// 4, 2012, 67-118) over options of one woman and at most one vehicle: exact for these. Rides
/// together and rendezvous are then taken where one of them lowers the cost, the greatest saving
/// first, until none does. From there a few women at a time are planned anew, exactly, with the
/// vehicles that they have and those that are free (Shaw, CP98, LNCS 1520, 1998, 417-431), and the
/// flow goes over all who ride alone again, until nothing is gained or the steps are used up; at
/// most 300,000 options are tried so. A limit on changed promises is kept by a rising price on
/// changes.
AssignmentPlan assign_many(const AssignmentProblem& problem);

/// Exactly where that is quick, else the better of what was found so and by flow.
AssignmentPlan assign(const AssignmentProblem& problem);

/// The plan with one option forced, and what that costs more than the best.
struct Override {
    AssignmentPlan plan;
    /// Never below zero: where no plan is proven to be the best and the forced one is better than
    /// the best that was found, that is the best known.
    Cost costs_more = 0;
};
/// @throws InputError if there is no such option
Override with_forced(const AssignmentProblem& problem, std::size_t option);

}  // namespace waybourne::dispatch
