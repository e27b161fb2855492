#pragma once
/// Weights for a hierarchy: the shortcuts that one set of road conditions gives it.

#include <span>
#include <vector>

#include "routing/arc_value.hpp"
#include "routing/hierarchy.hpp"

namespace waybourne::routing {

/// The least value over the network's arcs that each up arc stands for, with no shortcut yet.
/// @param values one per arc of the network
/// O(arcs).
template <typename Value>
std::vector<BothWays<Value>> respect(const Hierarchy& hierarchy, std::span<const Value> values,
                                     unsigned threads = 1);

/// Basic customisation (Dibbelt, Strasser, Wagner 2016, section 7): afterwards every shortest way
/// has an up-down form. Pulls each arc's lower triangles in rank order, so threads never write the
/// same arc. `Value` is one of those of arc_value.hpp. O(triangles).
/// @param weights from `respect`
template <typename Value>
void customise(const Hierarchy& hierarchy, std::span<BothWays<Value>> weights,
               unsigned threads = 1);

/// Perfect customisation (the same, section 8): every up arc gets the exact distance between its
/// ends.
/// @param weights from `customise`
template <typename Value>
void make_perfect(const Hierarchy& hierarchy, std::span<BothWays<Value>> weights);

/// Brings customised weights up to date after some arcs of the network have changed, exactly as a
/// full customisation would. O(triangles of the arcs that change).
/// @param changed arcs of the network, in any order, repeats allowed
/// @return the up arcs whose weight has changed, ascending
template <typename Value>
std::vector<std::uint32_t> customise_again(const Hierarchy& hierarchy,
                                           std::span<const Value> values,
                                           std::span<const std::uint32_t> changed,
                                           std::span<BothWays<Value>> weights);

}  // namespace waybourne::routing
