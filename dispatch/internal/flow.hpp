#pragma once
/// Minimum-cost assignment behind a door without templates: LEMON's headers compile as C++17 only,
/// so this one is included by both languages.

#include <cstddef>
#include <cstdint>
#include <vector>

namespace waybourne::dispatch {

struct FlowArc {
    std::size_t woman = 0;
    /// The number of vehicles: none.
    std::size_t vehicle = 0;
    std::int64_t cost = 0;
};

/// The index of the chosen arc of each woman. Every woman has an arc without vehicle.
std::vector<std::size_t> cheapest_arcs(std::size_t women, std::size_t vehicles,
                                       const std::vector<FlowArc>& arcs);

}  // namespace waybourne::dispatch
