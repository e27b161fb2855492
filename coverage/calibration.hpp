#pragma once
/// By how much journeys were slower or quicker on each kind of road than the speed table says.

#include <cstddef>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "coverage/observed.hpp"

namespace waybourne::coverage {

/// One journey with her, and what the speed table says of its parts.
struct ObservedWay {
    routing::Surface surface = routing::Surface::dry;
    /// Modelled typical seconds on each class of road, in a vehicle.
    std::map<std::string, double> by_class;
    /// Modelled seconds that no speed of a road changes: ferries, waiting, walking.
    double fixed_s = 0;
    double took_s = 0;
    /// When she left.
    routing::Light light = routing::Light::day;
};

/// One class of road in one season, by day, at night, or at any hour. Times on it × `time_factor`
/// would be as observed.
struct ClassCalibration {
    std::string road_class;
    routing::Surface surface = routing::Surface::dry;
    /// Those that spent at least a tenth of their modelled time in a vehicle on it.
    std::size_t journeys = 0;
    /// None where there are fewer than `fewest_told` of them.
    std::optional<double> time_factor;
    /// Of the factor: one standard error.
    std::optional<double> error;
    /// At least `fewest_to_calibrate` journeys, and the table's own speed (a factor of 1) lies more
    /// than two standard errors away.
    bool is_offered = false;
    /// None: day and night together, since fewer than `fewest_to_calibrate` journeys used it by one
    /// of them.
    std::optional<routing::Light> light = {};
    bool operator==(const ClassCalibration&) const = default;
};

/// For each season by itself the factors f that make Σ (took − fixed − Σ f m)² smallest, each
/// journey by the share of its own length. Two things make it robust: a journey far off counts less
/// (Huber, Annals of Mathematical Statistics 35, 1964, 73-101; from memory: 1.345 × the spread of
/// the residuals, which is taken from their median), and each class starts from the median of all
/// journeys of the season as if one journey wholly on it had told so (ridge; our own choice), so
/// that a class that few journeys saw follows the others, and journeys that all have the same roads
/// have one answer. A class that enough journeys used by day, and enough at night, has a factor for
/// each; the others have one for both.
/// @return for each season, dry first, every class that any journey used, in the order of their
/// names, day before night. O(journeys × classes²).
std::vector<ClassCalibration> calibrations_by_class(std::span<const ObservedWay> ways);

}  // namespace waybourne::coverage
