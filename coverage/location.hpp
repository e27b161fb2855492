#pragma once
/// Which few of many possible upgrades serve most births: location models, their quick and their
/// exact answer.
///
/// An *option* is one thing that could be done as a whole: a site raised to a level, a new post. It
/// is always a bundle: single capabilities complement each other (a theatre without blood covers
/// nobody), and over such parts neither greedy choice nor its guarantee would hold.

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "coverage/travel_times.hpp"

namespace waybourne::coverage {

enum class Choice : std::uint8_t { free, forced_in, forced_out };

struct Option {
    /// Capital and running costs over the years that are planned for, in any one currency; not
    /// negative.
    double cost = 1;
    Choice choice = Choice::free;
    /// At most one option of a site is chosen; none: it stands alone.
    std::optional<std::uint32_t> site = {};
};

/// What may be spent. Forced options and what they cost count too.
struct Limit {
    std::optional<std::size_t> count = {};
    std::optional<double> budget = {};
};

/// One settlement under one option.
struct Served {
    std::uint32_t settlement = 0;
    /// What it is worth per birth, above 0 and at most 1; counted covers ask only that it stands.
    double value = 1;
};

/// What is gained. Both kinds are monotone and submodular, so greedy choice has its guarantee
/// (Nemhauser, Wolsey, Fisher, Math. Programming 14, 1978, 265-294; from memory): with p options at
/// least 1 − (1 − 1/p)^p >= 63.2 % of the best; under a budget half of that (Khuller, Moss, Naor
/// 1999, from memory).
struct LocationModel {
    /// Births of each settlement.
    std::vector<double> births;
    /// By option.
    std::vector<Option> options;
    std::vector<std::vector<Served>> serves;
    /// Covers that are there already, by settlement; empty: none.
    std::vector<double> already = {};
    /// Not empty: the k-th option that serves a settlement is worth this much per birth; must not
    /// rise. Empty: the best value among the options counts.
    std::vector<double> by_count = {1.0};
    /// How often one option may be taken (several vehicles at a base).
    std::uint32_t most_of_one = 1;
};

/// Maximal covering (Church, ReVelle, Papers Reg. Sci. 32, 1974, 101-118): births with an option
/// within the standard, judged by the allowed time. Equality counts.
/// @param covered settlements that need nothing new; empty: none
LocationModel covering(const TravelTimes& times, std::span<const double> births, Seconds standard,
                       const std::vector<bool>& covered = {});

/// Full up to `near`, falling in a straight line to nothing at `far` (Berman, Krass 2002).
LocationModel gradual_covering(const TravelTimes& times, std::span<const double> births,
                               Seconds near, Seconds far);

/// `first` for the first option within the standard and 1 − first for a second (Hogan, ReVelle,
/// Management Science 32, 1986). @param first 0.5 to 1
LocationModel backup_covering(const TravelTimes& times, std::span<const double> births,
                              Seconds standard, double first);

/// Vehicles that are busy this share of the time, several at a base (MEXCLP: Daskin, Transportation
/// Science 17, 1983): the k-th within reach adds (1 − q) q^(k−1). @param busy 0 to 1
LocationModel expected_covering(const TravelTimes& times, std::span<const double> births,
                                Seconds standard, double busy, std::uint32_t most_of_one);

struct Plan {
    /// In ascending order; an option that is taken twice stands twice.
    std::vector<std::uint32_t> options;
    double cost = 0;
    double value = 0;
    /// No plan within the limit has a greater value.
    double bound = 0;
    bool is_proven() const { return bound - value <= 1e-6 * (bound > 1 ? bound : 1); }
    /// Share of the bound that may be missing; 0 when proven.
    double gap() const { return bound > 0 && !is_proven() ? (bound - value) / bound : 0; }
};

/// What a set of options is worth. O(options × what they serve).
double value_of(const LocationModel& model, std::span<const std::uint32_t> options);

/// Greedy choice with a heap of stale gains (Minoux 1978), ties to the lower number; under a budget
/// by gain per cost, or the best single option if that is more; then exchanges of one against one
/// while they gain (Teitz, Bart, Operations Research 16, 1968). The bound is that of submodular
/// functions: the value + the greatest remaining gains that the limit has room for.
/// @throws InputError for a limit of nothing, forced options beyond it, negative costs
Plan quick_plan(const LocationModel& model, const Limit& limit, const Work& work = {});

/// The optimum by an integer programme (CBC), or within the time the best found with its proven
/// bound; never worse than `quick_plan`.
/// @param gap stops once it is proven that no more than this share can be missing
Plan exact_plan(const LocationModel& model, const Limit& limit, Seconds time = 60s, double gap = 0,
                const Work& work = {});

/// The season with the least births covered counts: maximal covering of all of them at once. Only
/// exact: greedy choice has no guarantee here. `value` is that of the worst season.
/// @param seasons models that differ only in what options serve
Plan robust_plan(std::span<const LocationModel> seasons, const Limit& limit, Seconds time = 60s);

/// One plan per budget, in the order given: births gained against cost.
std::vector<Plan> cost_curve(const LocationModel& model, std::span<const double> budgets,
                             Seconds time_each, const Work& work = {});

/// The cheapest set that serves every settlement that any option serves (LSCP: Toregas et al.,
/// Operations Research 19, 1971). `value` is minus its cost.
/// @param unserved filled with those that no option serves, may be null
Plan cheapest_full_cover(const LocationModel& model, std::vector<std::uint32_t>* unserved = nullptr,
                         Seconds time = 60s);

}  // namespace waybourne::coverage
