#pragma once
/// A directed graph as two arrays, whoever owns them.

#include <cstdint>
#include <span>

namespace waybourne::routing {

/// Compressed sparse rows: the arcs of node `v` are `first_out[v]` up to `first_out[v + 1]`.
/// Valid when first_out has one entry more than there are nodes, starts at 0, never falls and ends
/// at the number of arcs, and every head is a node. Parallel arcs and loops are allowed.
struct GraphView {
    std::span<const std::uint32_t> first_out;
    std::span<const std::uint32_t> head;

    std::uint32_t node_count() const { return static_cast<std::uint32_t>(first_out.size() - 1); }
    std::uint32_t arc_count() const { return static_cast<std::uint32_t>(head.size()); }
};

}  // namespace waybourne::routing
