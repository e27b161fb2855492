#pragma once
/// The criteria of choice.hpp applied: which of some plans is the best.

#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "referral/plan.hpp"

namespace waybourne::referral {

/// The best single place's merits that a second stop must improve on.
struct Mark {
    std::size_t unmet_critical = 0;
    double lateness = 0;
};

/// None when there is no plan of one stop.
std::optional<Mark> mark_of(std::span<const Plan> plans);

/// Whether a plan of these merits earns its second stop. Without a mark every plan does.
bool earns_second_stop(std::size_t unmet_critical, double lateness, const std::optional<Mark>& mark,
                       const ChoiceSettings& settings);

/// Changes of vehicle of a plan; asked only where the criteria before it leave several plans.
using ChangesOfVehicle = std::function<int(const Plan&)>;

/// The index of the best of `among` (indices into `plans`); none when that is empty.
/// Complexity: linear.
std::optional<std::size_t> best_of(std::span<const Plan> plans, std::vector<std::size_t> among,
                                   const ChoiceSettings& settings, const ChangesOfVehicle& changes);

/// The indices of the plans that take part: all single places, and the pairs that earn their second
/// stop against the best of these single places.
std::vector<std::size_t> taking_part(std::span<const Plan> plans, const ChoiceSettings& settings);

}  // namespace waybourne::referral
