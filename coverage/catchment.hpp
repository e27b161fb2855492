#pragma once
/// Access where people compete for what a place can do: floating catchment areas.

#include <optional>
#include <span>
#include <vector>

#include "coverage/travel_times.hpp"

namespace waybourne::coverage {

/// Up to this typical time a way counts this much; beyond the last zone not at all.
struct Zone {
    Seconds until{};
    double weight = 0;
};

/// Zones for a district: 30, 60 and 120 minutes with the weights 1.00, 0.68 and 0.22 that Luo and
/// Qi (Health & Place 15, 2009, 1100-1107; from memory) give for 10, 20 and 30 minutes in a city.
/// The widths are a proposal: weights are chosen, never measured, and scores are only to be
/// compared with each other.
std::vector<Zone> district_zones();

enum class Catchment : std::uint8_t {
    /// Enhanced two-step: Rj = Sj / Σi Pi W(tij); Ai = Σj Rj W(tij) (Luo and Qi 2009).
    two_step,
    /// Three-step: each first shares itself out by Gij = W(tij) / Σk W(tik) (Wan, Zou, Sternberg,
    /// Int. J. Geogr. Inf. Sci. 26, 2012, 1073-1089), so that demand is not counted twice.
    three_step,
};

struct CatchmentScores {
    /// Supply per unit of demand, by settlement. 0 where nothing is within the last zone.
    std::vector<double> of_settlement;
    /// Supply ÷ demand by place; none for a place that nobody reaches.
    std::vector<std::optional<double>> of_place;
};

/// Σ demand × score = Σ supply of the places that somebody reaches: nothing is lost or made.
/// @param demand by settlement, e.g. births; not negative
/// @param supply by place, e.g. theatre hours; not negative
/// @throws InputError if sizes do not fit, zones do not rise or weights are outside 0 to 1
/// O(settlements × places).
CatchmentScores catchment_scores(const TravelTimes& times, std::span<const double> demand,
                                 std::span<const double> supply, std::span<const Zone> zones,
                                 Catchment kind = Catchment::two_step);

}  // namespace waybourne::coverage
