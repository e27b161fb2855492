#include "referral/rank.hpp"

#include <algorithm>
#include <tuple>

namespace waybourne::referral {

namespace {

/// Two sums of the same parts in another order may differ by this; it decides nothing else.
constexpr double rounding = 1e-9;

/// Keeps those whose figure is within `tolerance` of the smallest.
template <typename Figure, typename Tolerance>
void keep_smallest(std::vector<std::size_t>& among, const Figure& figure, Tolerance tolerance) {
    auto smallest = figure(among.front());
    for (const std::size_t index : among) {
        smallest = std::min(smallest, figure(index));
    }
    among.erase(
        std::remove_if(among.begin(), among.end(),
                       [&](std::size_t index) { return figure(index) > smallest + tolerance; }),
        among.end());
}

}  // namespace

std::optional<Mark> mark_of(std::span<const Plan> plans) {
    std::optional<Mark> best;
    for (const Plan& plan : plans) {
        const Mark mark{plan.merits.unmet_critical, plan.merits.lateness};
        if (plan.stops.size() == 1 &&
            (!best || std::tie(mark.unmet_critical, mark.lateness) <
                          std::tie(best->unmet_critical, best->lateness))) {
            best = mark;
        }
    }
    return best;
}

bool earns_second_stop(std::size_t unmet_critical, double lateness, const std::optional<Mark>& mark,
                       const ChoiceSettings& settings) {
    if (!mark || unmet_critical < mark->unmet_critical) {
        return true;
    }
    return unmet_critical == mark->unmet_critical &&
           lateness <= mark->lateness - settings.second_stop_saves + rounding;
}

std::vector<std::size_t> taking_part(std::span<const Plan> plans, const ChoiceSettings& settings) {
    const auto mark = mark_of(plans);
    std::vector<std::size_t> taking;
    for (std::size_t index = 0; index < plans.size(); ++index) {
        const Plan& plan = plans[index];
        if (plan.stops.size() == 1 ||
            earns_second_stop(plan.merits.unmet_critical, plan.merits.lateness, mark, settings)) {
            taking.push_back(index);
        }
    }
    return taking;
}

std::optional<std::size_t> best_of(std::span<const Plan> plans, std::vector<std::size_t> among,
                                   const ChoiceSettings& settings,
                                   const ChangesOfVehicle& changes) {
    if (among.empty()) {
        return std::nullopt;
    }
    const auto merits = [&](std::size_t index) -> const Merits& { return plans[index].merits; };
    const Seconds tolerance = settings.time_tolerance;
    keep_smallest(
        among, [&](std::size_t i) { return merits(i).unmet_critical; }, std::size_t{0});
    keep_smallest(
        among, [&](std::size_t i) { return merits(i).lateness; },
        settings.lateness_tolerance + rounding);
    keep_smallest(
        among, [&](std::size_t i) { return merits(i).last_critical_after; }, tolerance);
    keep_smallest(
        among, [&](std::size_t i) { return merits(i).last_need_after; }, tolerance);
    keep_smallest(
        among, [&](std::size_t i) { return -static_cast<long>(merits(i).continues); }, 0L);
    keep_smallest(
        among, [&](std::size_t i) { return plans[i].stops.size(); }, std::size_t{0});
    if (among.size() > 1) {
        std::vector<int> changed(plans.size(), 0);
        for (const std::size_t index : among) {
            changed[index] = changes(plans[index]);
        }
        keep_smallest(
            among, [&](std::size_t i) { return changed[i]; }, 0);
    }
    return *std::min_element(among.begin(), among.end(), [&](std::size_t a, std::size_t b) {
        return merits(a).places < merits(b).places;
    });
}

}  // namespace waybourne::referral
