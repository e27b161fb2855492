#pragma once
/// How times, or anything else that each birth has, are spread over the births.

#include <optional>
#include <span>
#include <vector>

namespace waybourne::coverage {

/// A value and how many births have it. No value: it is not finite or not known; such births are
/// left out of every figure but `share_without`, and are never replaced by a number.
struct Weighted {
    std::optional<double> value;
    double weight = 0;
};

/// Of the births that have a value. None where none has.
struct Distribution {
    double mean = 0;
    double median = 0;
    double ninetieth = 0;
    /// The mean of the tenth of births with the greatest values, the value at its edge counted in
    /// part.
    double worst_decile = 0;
    /// That of the worst fifth ÷ that of the best fifth; none where the latter is 0.
    std::optional<double> worst_to_best_fifth;
    /// 0 for all alike, towards 1 for all in one; none where the mean is 0.
    /// G = Σi Σk wi wk |xi − xk| / (2 W² μ) (Gini 1912; from memory of Cowell, Measuring
    /// Inequality), summed in O(n log n).
    std::optional<double> gini;
    /// The share of all births that have no value.
    double share_without = 0;
    bool operator==(const Distribution&) const = default;
};

/// O(n log n). Negative weights and values do not belong here.
std::optional<Distribution> distribution(std::span<const Weighted> values);

/// The least value that at least this share of the weight does not exceed (the inverse of the
/// cumulative distribution). None where nothing has a value.
std::optional<double> weighted_quantile(std::span<const Weighted> values, double share);

/// What also has a rank by wealth; 1 is the poorest, equal ranks share their place.
struct Ranked {
    Weighted value;
    std::optional<double> rank;
};

/// From −1 to 1: below 0 where the poor have more of it, above 0 where the rich have.
/// C = 2/(W μ) Σ wi xi Ri − 1 with Ri the mid-point of i's place in the order of wealth (Kakwani,
/// Wagstaff, van Doorslaer, J. Econometrics 77, 1997, 87-103; from memory). Those without value or
/// rank are left out; none where nobody is left or the mean is 0.
std::optional<double> concentration_index(std::span<const Ranked> values);

}  // namespace waybourne::coverage
