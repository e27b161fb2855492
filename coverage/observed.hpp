#pragma once
/// How long journeys really took, against what the speed table says of them.

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "routing/road_conditions.hpp"
#include "routing/travel_time.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::coverage {

/// Of fewer than this nothing is told but their number: one journey could be somebody's. Common
/// practice, no source.
inline constexpr std::size_t fewest_told = 5;
/// From so many on a factor is offered. A proposal.
inline constexpr std::size_t fewest_to_calibrate = 20;

struct ObservedSpread {
    std::size_t count = 0;
    /// None where there are fewer than `fewest_told`.
    std::optional<Seconds> median;
    std::optional<Seconds> ninetieth;
    bool operator==(const ObservedSpread&) const = default;
};

ObservedSpread spread_of(const std::vector<Seconds>& spans);

/// One journey with her, from the first place until the next. `modelled` is not of no length.
struct ObservedJourney {
    routing::RoadConditions conditions;
    routing::TravelTime modelled;
    Seconds took{};
};

/// What journeys under one set of road conditions say of the speed table. Offered as a change to
/// accept, never applied by itself.
struct Calibration {
    routing::RoadConditions conditions;
    std::size_t journeys = 0;
    /// Took ÷ modelled typical time; none where there are fewer than `fewest_told`.
    std::optional<double> median_ratio;
    /// Nine of ten should be within the allowed time.
    std::optional<double> share_within_allow;
    /// Speeds × this would make the median journey take what is modelled; none where there are
    /// fewer than `fewest_to_calibrate`.
    std::optional<double> speed_factor;
};

/// One for each of the four conditions: dry and wet, by day and by night.
std::vector<Calibration> calibrations(std::span<const ObservedJourney> journeys);

}  // namespace waybourne::coverage
