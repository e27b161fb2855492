#pragma once
/// Options chosen so far, and what one more would gain.

#include <span>
#include <vector>

#include "coverage/location.hpp"

namespace waybourne::coverage {

class LocationState {
public:
    explicit LocationState(const LocationModel& model);

    double gain(std::uint32_t option) const;
    void add(std::uint32_t option);
    double value() const { return value_; }
    double cost() const { return cost_; }
    const std::vector<std::uint32_t>& chosen() const { return chosen_; }
    /// Whether the limit, its site and how often it may be taken leave room for it.
    bool has_room(std::uint32_t option, const Limit& limit) const;

private:
    double worth(std::uint32_t settlement, double count) const;

    const LocationModel* model_;
    std::vector<double> covers_;  ///< by count: how many; else the best value so far
    std::vector<std::uint32_t> chosen_;
    std::vector<std::uint32_t> times_taken_;
    double value_ = 0;
    double cost_ = 0;
};

/// What each settlement has already, by value; zeros where nothing is given.
std::vector<double> values_already(const LocationModel& model);

/// Room for rounding when costs are added up.
inline constexpr double cost_crumb = 1e-9;

/// @throws InputError as `quick_plan`
void check_limit(const LocationModel& model, const Limit& limit);

}  // namespace waybourne::coverage
