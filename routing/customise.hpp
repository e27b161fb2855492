#pragma once
/// Weights for a hierarchy: the shortcuts that one set of road conditions gives it.

#include <span>
#include <vector>

#include "routing/arc_value.hpp"
#include "routing/hierarchy.hpp"

namespace waybourne::routing {

/// Basic customisation (Dibbelt, Strasser, Wagner 2016, section 7): afterwards every shortest way
/// has an up-down form. Takes the least value over the network's arcs that each up arc stands for
/// and pulls its lower triangles, in rank order, so that threads never write the same arc. `Value`
/// is one of those of arc_value.hpp. O(triangles); 8 bytes per node while it runs, and 4 per
/// thread.
/// @param values one per arc of the network
/// @param weights one per up arc; overwritten
template <typename Value>
void customise(const Hierarchy& hierarchy, std::span<const Value> values,
               std::span<BothWays<Value>> weights, unsigned threads = 1);

/// The same in memory of its own.
template <typename Value>
std::vector<BothWays<Value>> customised(const Hierarchy& hierarchy, std::span<const Value> values,
                                        unsigned threads = 1) {
    std::vector<BothWays<Value>> weights(hierarchy.arc_count());
    customise<Value>(hierarchy, values, weights, threads);
    return weights;
}

/// Perfect customisation (the same, section 8): every up arc gets the exact distance between its
/// ends.
/// @param weights from `customise`
template <typename Value>
void make_perfect(const Hierarchy& hierarchy, std::span<BothWays<Value>> weights);

/// Brings customised weights up to date after some arcs of the network have changed, exactly as a
/// full customisation would. O(triangles of the arcs that change); a bit per up arc and per node
/// while it runs.
/// @param changed the up arcs of those arcs (`Hierarchy::up_arc`), in any order, repeats allowed
/// @return the up arcs whose weight has changed, ascending
template <typename Value>
std::vector<std::uint32_t> customise_again(const Hierarchy& hierarchy,
                                           std::span<const Value> values,
                                           std::span<const UpArc> changed,
                                           std::span<BothWays<Value>> weights);

}  // namespace waybourne::routing
