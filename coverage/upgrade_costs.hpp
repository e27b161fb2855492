#pragma once
/// What raising facilities costs, as a file.

#include <optional>
#include <string_view>
#include <vector>

#include "coverage/location.hpp"
#include "vocabulary/identifier.hpp"

namespace waybourne::coverage {

/// What raising one facility to all that is needed costs, in any one currency; not negative.
struct UpgradeCost {
    FacilityId facility;
    /// Once.
    double capital = 1;
    /// A year.
    double running = 0;
    /// Must it be raised, or must it not?
    Choice choice = Choice::free;
    bool operator==(const UpgradeCost&) const = default;
};

/// `free`, `in`, `out`
std::optional<Choice> find_choice(std::string_view name);

/// CSV with `facility` and `cost`, and where wanted `running_per_year` and `choice` (`in` or
/// `out`).
/// @throws InputError with every bad row: a facility twice, a number that is none or negative
std::vector<UpgradeCost> read_upgrade_costs(std::string_view csv);

}  // namespace waybourne::coverage
