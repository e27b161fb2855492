#pragma once
/// Which few of many possible upgrades shorten the time until care most: in the mean, or for
/// whoever waits longest.

#include <optional>
#include <span>
#include <vector>

#include "coverage/location.hpp"

namespace waybourne::coverage {

/// A day. Whoever reaches nothing, or takes longer, counts as taking this, so that those cut off
/// count finitely. A proposal; the same as for roads that fail.
inline constexpr double minutes_of_a_day = 24 * 60;

/// Minutes until care, as it is and with each option.
struct MinutesModel {
    /// Births of each settlement; not negative.
    std::vector<double> births;
    std::vector<Option> options;
    /// By settlement, as it is. None: no care is reached.
    std::vector<std::optional<double>> now;
    /// By option, then by settlement. None: no way leads there.
    std::vector<std::vector<std::optional<double>>> with;
    /// What more than this, and no way at all, counts as.
    double ceiling = minutes_of_a_day;
};

/// The whole of births × minutes until care with these options; none: as it is.
/// O(settlements × options).
double birth_minutes(const MinutesModel& model, std::span<const std::uint32_t> options);

/// Settlements that reach no care now and would with no option that may be taken: no plan changes
/// anything for them. O(settlements × options).
std::vector<std::uint32_t> beyond_any_plan(const MinutesModel& model);

/// The greatest minutes until care of any settlement with births, but for those beyond any plan. 0
/// where there is none.
double greatest_minutes(const MinutesModel& model, std::span<const std::uint32_t> options);

struct MinutesPlan {
    /// In ascending order.
    std::vector<std::uint32_t> options;
    double cost = 0;
    /// Births × minutes, or the greatest minutes of anybody.
    double minutes = 0;
    /// No plan within the limit has less.
    double at_least = 0;
    bool is_proven() const { return minutes - at_least <= 1e-6 * (minutes > 1 ? minutes : 1); }
};

/// The least births × minutes (p-median: ReVelle, Swain, Geographical Analysis 2, 1970, 30-42; from
/// memory), as a location model whose values are minutes saved, so greedy choice and exchanges come
/// first and CBC after.
/// @throws InputError as `quick_plan`
MinutesPlan least_minutes(const MinutesModel& model, const Limit& limit, Seconds time = 60s,
                          const Work& work = {});

/// The least greatest time of any settlement but those beyond any plan (vertex p-centre: Minieka,
/// SIAM Review 12, 1970, 138-139; from memory): the smallest of all times at which a full cover
/// within the limit exists, found by halving. Greedy choice has no guarantee here.
/// @throws InputError as `quick_plan`
MinutesPlan least_greatest_minutes(const MinutesModel& model, const Limit& limit,
                                   Seconds time = 60s, const Work& work = {});

/// With nothing there now, every settlement to be served, and each place an option of cost 1;
/// minutes are typical.
/// @throws InputError where a settlement can reach no place
MinutesModel minutes_from_nothing(const TravelTimes& times, std::span<const double> births);

}  // namespace waybourne::coverage
