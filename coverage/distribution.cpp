#include "coverage/distribution.hpp"

#include <algorithm>

namespace waybourne::coverage {

namespace {

struct Item {
    double value = 0;
    double weight = 0;
};

/// Those that have a value and count, least first.
std::vector<Item> in_order(std::span<const Weighted> values) {
    std::vector<Item> items;
    for (const Weighted& one : values) {
        if (one.value && one.weight > 0) {
            items.push_back({*one.value, one.weight});
        }
    }
    std::sort(items.begin(), items.end(),
              [](const Item& a, const Item& b) { return a.value < b.value; });
    return items;
}

double weight_of(std::span<const Item> items) {
    double sum = 0;
    for (const Item& item : items) {
        sum += item.weight;
    }
    return sum;
}

/// Sums of weights leave crumbs behind: shares are compared with this much room.
constexpr double crumb = 1e-9;

double quantile(std::span<const Item> items, double whole, double share) {
    double below = 0;
    for (const Item& item : items) {
        below += item.weight;
        if (below >= share * whole - crumb * whole) {
            return item.value;
        }
    }
    return items.back().value;
}

/// The mean of the first `share` of the weight, in the order given.
template <typename Iterator>
double mean_of_first(Iterator begin, Iterator end, double whole, double share) {
    double left = share * whole;
    double sum = 0;
    for (Iterator item = begin; item != end && left > 0; ++item) {
        const double part = std::min(left, item->weight);
        sum += part * item->value;
        left -= part;
    }
    return sum / (share * whole);
}

}  // namespace

std::optional<Distribution> distribution(std::span<const Weighted> values) {
    const std::vector<Item> items = in_order(values);
    const double whole = weight_of(items);
    double all = 0;
    for (const Weighted& one : values) {
        all += std::max(0.0, one.weight);
    }
    if (items.empty()) {
        return std::nullopt;
    }
    Distribution made;
    double below = 0;
    double sum_below = 0;
    double differences = 0;  // Σ over pairs i < k of wi wk (xk − xi)
    for (const Item& item : items) {
        differences += item.weight * (item.value * below - sum_below);
        below += item.weight;
        sum_below += item.weight * item.value;
    }
    made.mean = sum_below / whole;
    made.median = quantile(items, whole, 0.5);
    made.ninetieth = quantile(items, whole, 0.9);
    made.worst_decile = mean_of_first(items.rbegin(), items.rend(), whole, 0.1);
    const double best = mean_of_first(items.begin(), items.end(), whole, 0.2);
    if (best > 0) {
        made.worst_to_best_fifth = mean_of_first(items.rbegin(), items.rend(), whole, 0.2) / best;
    }
    if (made.mean > 0) {
        made.gini = std::max(0.0, differences / (whole * whole * made.mean));
    }
    made.share_without = 1 - whole / all;
    return made;
}

std::optional<double> weighted_quantile(std::span<const Weighted> values, double share) {
    const std::vector<Item> items = in_order(values);
    return items.empty() ? std::nullopt : std::optional(quantile(items, weight_of(items), share));
}

std::optional<double> concentration_index(std::span<const Ranked> values) {
    struct Placed {
        double rank;
        double value;
        double weight;
    };
    std::vector<Placed> placed;
    double whole = 0;
    double sum = 0;
    for (const Ranked& one : values) {
        if (one.rank && one.value.value && one.value.weight > 0) {
            placed.push_back({*one.rank, *one.value.value, one.value.weight});
            whole += one.value.weight;
            sum += one.value.weight * *one.value.value;
        }
    }
    if (placed.empty() || sum <= 0) {
        return std::nullopt;
    }
    std::sort(placed.begin(), placed.end(),
              [](const Placed& a, const Placed& b) { return a.rank < b.rank; });
    double below = 0;
    double covariance = 0;
    for (std::size_t begin = 0; begin < placed.size();) {
        std::size_t end = begin;
        double weight = 0;
        double value = 0;
        for (; end < placed.size() && placed[end].rank == placed[begin].rank; ++end) {
            weight += placed[end].weight;
            value += placed[end].weight * placed[end].value;
        }
        covariance += value * (below + weight / 2) / whole;
        below += weight;
        begin = end;
    }
    return 2 * covariance / sum - 1;
}

}  // namespace waybourne::coverage
