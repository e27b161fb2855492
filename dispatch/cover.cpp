#include "dispatch/cover.hpp"

#include <algorithm>
#include <cmath>

#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

std::size_t within_reach(const ReachTable& table, std::size_t zone,
                         std::span<const std::size_t> idle) {
    return static_cast<std::size_t>(
        std::count_if(idle.begin(), idle.end(),
                      [&](std::size_t vehicle) { return table.reaches(zone, vehicle); }));
}

std::vector<std::size_t> without(std::span<const std::size_t> idle,
                                 std::span<const std::size_t> leaving) {
    std::vector<std::size_t> left;
    std::copy_if(idle.begin(), idle.end(), std::back_inserter(left), [&](std::size_t vehicle) {
        return std::find(leaving.begin(), leaving.end(), vehicle) == leaving.end();
    });
    return left;
}

void check_busy(double busy) {
    if (!(busy >= 0 && busy < 1)) {
        throw InputError("a busy share of " + std::to_string(busy) + " is not from 0 to below 1");
    }
}

double total_weight(std::span<const Zone> zones) {
    double total = 0;
    for (const Zone& zone : zones) {
        total += zone.weight;
    }
    return total;
}

/// Rounded down: never more than the truth.
std::string percent(double share) {
    constexpr double hundred = 100;
    constexpr double rounding = 1e-9;
    return std::to_string(static_cast<int>(std::floor(share * hundred + rounding)));
}

}  // namespace

double larson_correction(std::size_t servers, double busy, std::size_t tried) {
    check_busy(busy);
    if (tried >= servers) {
        throw InputError("of " + std::to_string(servers) + " vehicles " + std::to_string(tried) +
                         " cannot be tried before a free one");
    }
    // Larson's formula (29) with ρ = q, written with factors that stay small:
    // Q(p, q, j) = Σ_{k=j..p-1} (p-j-1)! (p-k) p^k q^(k-j) / ((k-j)! p! (1-q))
    //              · [ Σ_{i<p} (p q)^i / i! + (p q)^p / (p! (1-q)) ]^-1 · p! (…)
    const auto p = static_cast<double>(servers);
    double none = 0;  // 1 / P(all are free)
    double term = 1;
    for (std::size_t i = 0; i < servers; ++i) {
        none += term;
        term *= p * busy / static_cast<double>(i + 1);
    }
    none += term / (1 - busy);
    double sum = 0;
    for (std::size_t k = tried; k < servers; ++k) {
        double part = p - static_cast<double>(k);
        for (std::size_t i = 0; i < k; ++i) {
            part *= p;
        }
        for (std::size_t i = 0; i < k - tried; ++i) {
            part *= busy / static_cast<double>(i + 1);
        }
        // (p-j-1)! / p! = 1 / (p (p-1) … (p-j))
        for (std::size_t i = 0; i <= tried; ++i) {
            part /= p - static_cast<double>(i);
        }
        sum += part;
    }
    return sum / (none * (1 - busy));
}

double chance_one_is_free(std::size_t reachable, std::size_t servers, double busy,
                          BusyModel model) {
    check_busy(busy);
    if (reachable > servers) {
        throw InputError("more vehicles are within reach than there are");
    }
    double chance = 0;
    double all_busy = 1;
    for (std::size_t tried = 0; tried < reachable; ++tried) {
        const double factor =
            model == BusyModel::independent ? 1 : larson_correction(servers, busy, tried);
        chance += factor * (1 - busy) * all_busy;
        all_busy *= busy;
    }
    return chance;
}

double expected_cover(std::span<const Zone> zones, const ReachTable& table,
                      std::span<const std::size_t> idle, double busy, BusyModel model) {
    std::vector<double> chance_with(idle.size() + 1);
    for (std::size_t count = 0; count <= idle.size(); ++count) {
        chance_with[count] = chance_one_is_free(count, idle.size(), busy, model);
    }
    double covered = 0;
    for (std::size_t zone = 0; zone < zones.size(); ++zone) {
        covered += zones[zone].weight * chance_with[within_reach(table, zone, idle)];
    }
    return covered;
}

double busy_share(double calls_per_hour, double mission_hours, std::size_t vehicles) {
    constexpr double most = 0.95;
    if (vehicles == 0 || !(calls_per_hour >= 0) || !(mission_hours >= 0)) {
        throw InputError("a busy share needs a vehicle, and figures that are not negative");
    }
    return std::min(most, calls_per_hour * mission_hours / static_cast<double>(vehicles));
}

double cost_of_sending(std::span<const Zone> zones, const ReachTable& table,
                       std::span<const std::size_t> idle, std::size_t vehicle, double busy) {
    const auto left = without(idle, {&vehicle, 1});
    return expected_cover(zones, table, idle, busy) - expected_cover(zones, table, left, busy);
}

std::optional<WaitingPlace> where_to_wait(std::span<const Zone> zones, const ReachTable& of_bases,
                                          const ReachTable& table,
                                          std::span<const std::size_t> others, double busy) {
    check_busy(busy);
    std::optional<WaitingPlace> best;
    for (std::size_t base = 0; base < of_bases.vehicles(); ++base) {
        WaitingPlace place{base, 0};
        for (std::size_t zone = 0; zone < zones.size(); ++zone) {
            if (of_bases.reaches(zone, base)) {
                const auto k = static_cast<double>(within_reach(table, zone, others));
                place.gains += zones[zone].weight * (1 - busy) * std::pow(busy, k);
            }
        }
        if (!best || place.gains > best->gains) {
            best = place;
        }
    }
    return best;
}

CoverReport cover_report(std::span<const Zone> zones, const ReachTable& table,
                         std::span<const std::size_t> idle, std::span<const std::size_t> leaving,
                         double busy) {
    const auto left = without(idle, leaving);
    CoverReport report;
    report.before = expected_cover(zones, table, idle, busy);
    report.after = expected_cover(zones, table, left, busy);
    const double total = total_weight(zones);
    if (total <= 0) {
        return report;
    }
    report.share_before = report.before / total;
    report.share_after = report.after / total;
    report.messages.push_back(
        {"dispatch.cover_now",
         {{"percent", percent(report.share_after)}, {"before", percent(report.share_before)}}});
    const Zone* weakest = nullptr;
    std::size_t fewest = 0;
    for (std::size_t zone = 0; zone < zones.size(); ++zone) {
        const std::size_t reached = within_reach(table, zone, left);
        if (zones[zone].weight <= 0) {
            continue;
        }
        if (reached == 0 && within_reach(table, zone, idle) > 0) {
            report.messages.push_back({last_vehicle_leaves, {{"area", zones[zone].name}}});
        }
        const bool is_weaker = weakest == nullptr || reached < fewest ||
                               (reached == fewest && zones[zone].weight > weakest->weight);
        if (is_weaker) {
            weakest = &zones[zone];
            fewest = reached;
        }
    }
    if (weakest != nullptr) {
        report.messages.push_back({"dispatch.weakest_area",
                                   {{"area", weakest->name}, {"count", std::to_string(fewest)}}});
    }
    return report;
}

}  // namespace waybourne::dispatch
