#include <algorithm>

#include "coverage/location.hpp"

namespace waybourne::coverage {

namespace {

double minutes_of(const std::optional<routing::TravelTime>& way) {
    return static_cast<double>(way->typical.count()) / 60;
}

/// Every time that occurs, least first.
std::vector<double> check(const TravelTimes& times, std::size_t count) {
    if (count == 0 || count > times.places()) {
        throw InputError("a count of " + std::to_string(count) + " is outside 1 to " +
                         std::to_string(times.places()));
    }
    std::vector<double> all;
    for (std::size_t i = 0; i < times.settlements(); ++i) {
        const std::size_t before = all.size();
        for (std::size_t j = 0; j < times.places(); ++j) {
            if (const auto way = times.at(i, j)) {
                all.push_back(minutes_of(way));
            }
        }
        if (all.size() == before) {
            throw InputError("settlement " + std::to_string(i) + " can reach no place at all");
        }
    }
    std::sort(all.begin(), all.end());
    all.erase(std::unique(all.begin(), all.end()), all.end());
    return all;
}

LocationModel within(const TravelTimes& times, double minutes) {
    LocationModel model;
    model.births.assign(times.settlements(), 1);
    model.options.resize(times.places());
    model.serves.resize(times.places());
    for (std::uint32_t i = 0; i < times.settlements(); ++i) {
        for (std::size_t j = 0; j < times.places(); ++j) {
            const auto way = times.at(i, j);
            if (way && minutes_of(way) <= minutes) {
                model.serves[j].push_back({i, 1});
            }
        }
    }
    return model;
}

}  // namespace

MedianPlan least_minutes(const TravelTimes& times, std::span<const double> births,
                         std::size_t count, Seconds time) {
    // the greatest time stands for no gain at all: the least sum of times is the greatest of gains
    const double most = check(times, count).back() + 1;
    LocationModel model = within(times, most);
    model.births.assign(births.begin(), births.end());
    model.by_count.clear();
    double all = 0;
    for (const double one : births) {
        all += one * most;
    }
    for (std::size_t j = 0; j < times.places(); ++j) {
        for (Served& one : model.serves[j]) {
            one.value = 1 - minutes_of(times.at(one.settlement, j)) / most;
        }
    }
    const Plan plan = exact_plan(model, {.count = count}, time);
    return {plan.options, all - plan.value * most, all - plan.bound * most, plan.is_proven()};
}

MedianPlan least_greatest_minutes(const TravelTimes& times, std::size_t count, Seconds time) {
    const std::vector<double> steps = check(times, count);
    const auto plan_within = [&](double minutes) {
        std::vector<std::uint32_t> unserved;
        Plan plan = cheapest_full_cover(within(times, minutes), &unserved, time);
        const bool is_good = unserved.empty() && plan.is_proven() && plan.options.size() <= count;
        return is_good ? std::optional(plan) : std::nullopt;
    };
    std::size_t low = 0;
    std::size_t high = steps.size() - 1;
    std::optional<Plan> best = plan_within(steps[high]);
    while (low < high) {
        const std::size_t middle = low + (high - low) / 2;
        if (auto plan = plan_within(steps[middle])) {
            best = std::move(plan);
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    if (!best) {
        throw InputError("no " + std::to_string(count) + " places can serve every settlement");
    }
    return {best->options, steps[high], steps[high], best->is_proven()};
}

}  // namespace waybourne::coverage
