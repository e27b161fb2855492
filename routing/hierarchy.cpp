#include "routing/hierarchy.hpp"

#include <algorithm>
#include <array>
#include <numeric>

#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

using Indices = std::vector<std::uint32_t>;

struct Storage {
    Indices node_of_rank, rank_of_node, up_first, up_head, parent, depth, down_first, down_arc;
    std::vector<std::uint64_t> row_marks;
    Indices row_tails, in_first, in_arc;
    std::vector<std::uint16_t> in_slot;
    Indices job_first;
    std::uint32_t height = 0;
    std::uint32_t network_arcs = 0;

    HierarchyArrays view() const {
        return {node_of_rank, rank_of_node, up_first,  up_head,     parent,   depth,
                down_first,   down_arc,     row_marks, row_tails,   in_first, in_arc,
                in_slot,      job_first,    height,    network_arcs};
    }
};

Indices inverse(std::span<const std::uint32_t> permutation) {
    Indices place(permutation.size(), no_rank);
    for (std::uint32_t i = 0; i < permutation.size(); ++i) {
        if (permutation[i] >= permutation.size() || place[permutation[i]] != no_rank) {
            throw InputError("the contraction order is not a permutation of the nodes");
        }
        place[permutation[i]] = i;
    }
    return place;
}

struct UpArcs {
    Indices first{0};
    Indices head;
    Indices parent;
};

/// Symbolic elimination. What a rank sees above itself is what its own arcs and its children's up
/// arcs show; handing a list to the parent only makes the whole linear in the result.
UpArcs eliminate(GraphView graph, const Indices& rank_of_node) {
    const std::uint32_t nodes = graph.node_count();
    // the network's arcs as lower rank -> higher rank
    Indices own_first(nodes + 1, 0);
    const auto for_each_pair = [&](const auto& visit) {
        for (std::uint32_t v = 0; v < nodes; ++v) {
            for (std::uint32_t a = graph.first_out[v]; a < graph.first_out[v + 1]; ++a) {
                const std::uint32_t x = rank_of_node[v];
                const std::uint32_t y = rank_of_node[graph.head[a]];
                if (x != y) {
                    visit(std::min(x, y), std::max(x, y));
                }
            }
        }
    };
    for_each_pair([&](std::uint32_t low, std::uint32_t) { ++own_first[low + 1]; });
    std::partial_sum(own_first.begin(), own_first.end(), own_first.begin());
    Indices own(own_first.back());
    Indices next(own_first.begin(), own_first.end() - 1);
    for_each_pair([&](std::uint32_t low, std::uint32_t high) { own[next[low]++] = high; });

    UpArcs up;
    up.first.reserve(nodes + 1);
    up.head.reserve(std::size_t{3} * nodes);
    up.parent.assign(nodes, no_rank);
    Indices first_child(nodes, no_rank);
    Indices next_sibling(nodes, no_rank);
    Indices seen_by(nodes, no_rank);
    for (std::uint32_t x = 0; x < nodes; ++x) {
        const std::size_t begin = up.head.size();
        const auto see = [&](std::uint32_t y) {
            if (y != x && seen_by[y] != x) {
                seen_by[y] = x;
                up.head.push_back(y);
            }
        };
        for (std::uint32_t i = own_first[x]; i < own_first[x + 1]; ++i) {
            see(own[i]);
        }
        for (std::uint32_t c = first_child[x]; c != no_rank; c = next_sibling[c]) {
            for (std::uint32_t a = up.first[c]; a < up.first[c + 1]; ++a) {
                see(up.head[a]);
            }
        }
        std::sort(up.head.begin() + static_cast<std::ptrdiff_t>(begin), up.head.end());
        if (up.head.size() >= no_arc / 2) {
            throw InputError("the network is too large for 32-bit arc numbers");
        }
        up.first.push_back(static_cast<std::uint32_t>(up.head.size()));
        if (begin < up.head.size()) {
            const std::uint32_t p = up.head[begin];
            up.parent[x] = p;
            next_sibling[x] = first_child[p];
            first_child[p] = x;
        }
    }
    return up;
}

Indices depths(const Indices& parent) {
    Indices depth(parent.size(), 0);
    for (std::size_t x = parent.size(); x-- > 0;) {
        if (parent[x] != no_rank) {
            depth[x] = depth[parent[x]] + 1;
        }
    }
    return depth;
}

struct Layout {
    Indices new_rank;  ///< of each old rank
    Indices job_first;
};

/// See the class comment: subtrees of at most nodes/16, one after the other, then the top.
Layout lay_out(const UpArcs& up) {
    const auto nodes = static_cast<std::uint32_t>(up.parent.size());
    const std::uint32_t limit = std::max(1U, nodes / 16);
    Indices size(nodes, 1);
    for (std::uint32_t x = 0; x < nodes; ++x) {
        if (up.parent[x] != no_rank) {
            size[up.parent[x]] += size[x];
        }
    }
    // the subtree each rank belongs to, by the rank of its root; no_rank: the top
    Indices subtree(nodes, no_rank);
    for (std::uint32_t x = nodes; x-- > 0;) {
        const std::uint32_t p = up.parent[x];
        if (p != no_rank && subtree[p] != no_rank) {
            subtree[x] = subtree[p];
        } else if (size[x] <= limit) {
            subtree[x] = x;
        }
    }
    const Indices depth = depths(up.parent);
    Indices order(nodes);
    std::iota(order.begin(), order.end(), 0U);
    std::sort(order.begin(), order.end(), [&](std::uint32_t a, std::uint32_t b) {
        if (subtree[a] != subtree[b]) {
            return subtree[a] < subtree[b];
        }
        if (subtree[a] == no_rank && depth[a] != depth[b]) {
            return depth[a] > depth[b];
        }
        return a < b;
    });
    Layout layout{inverse(order), {0}};
    // small neighbouring subtrees share a job
    for (std::uint32_t i = 0; i < nodes && subtree[order[i]] != no_rank; ++i) {
        const bool ends = i + 1 == nodes || subtree[order[i + 1]] != subtree[order[i]];
        const bool next_is_top = i + 1 == nodes || subtree[order[i + 1]] == no_rank;
        if (ends && (next_is_top || i + 1 - layout.job_first.back() >= limit / 2)) {
            layout.job_first.push_back(i + 1);
        }
    }
    return layout;
}

void renumber(const UpArcs& up, const Layout& layout, Storage& to) {
    const std::size_t nodes = up.parent.size();
    const Indices old_rank = inverse(layout.new_rank);
    to.job_first = layout.job_first;
    to.up_first.assign(1, 0);
    to.up_first.reserve(nodes + 1);
    to.up_head.reserve(up.head.size());
    to.parent.assign(nodes, no_rank);
    for (std::uint32_t x = 0; x < nodes; ++x) {
        const std::uint32_t old = old_rank[x];
        const auto begin = static_cast<std::ptrdiff_t>(to.up_head.size());
        for (std::uint32_t a = up.first[old]; a < up.first[old + 1]; ++a) {
            to.up_head.push_back(layout.new_rank[up.head[a]]);
        }
        std::sort(to.up_head.begin() + begin, to.up_head.end());
        to.up_first.push_back(static_cast<std::uint32_t>(to.up_head.size()));
        if (up.parent[old] != no_rank) {
            to.parent[x] = layout.new_rank[up.parent[old]];
        }
    }
    to.depth = depths(to.parent);
    for (const std::uint32_t depth : to.depth) {
        to.height = std::max(to.height, depth + 1);
    }
}

void turn_round(Storage& to) {
    const std::size_t nodes = to.parent.size();
    to.down_first.assign(nodes + 1, 0);
    for (const std::uint32_t head : to.up_head) {
        ++to.down_first[head + 1];
    }
    std::partial_sum(to.down_first.begin(), to.down_first.end(), to.down_first.begin());
    to.down_arc.resize(to.up_head.size());
    Indices next(to.down_first.begin(), to.down_first.end() - 1);
    for (std::uint32_t a = 0; a < to.up_head.size(); ++a) {
        to.down_arc[next[to.up_head[a]]++] = a;
    }
}

void mark_rows(Storage& to) {
    Marks marks{static_cast<std::uint32_t>(to.up_head.size())};
    for (std::uint32_t x = 0; x < to.parent.size(); ++x) {
        if (to.up_first[x] < to.up_first[x + 1]) {
            marks.set(to.up_first[x]);
        }
        while (64 * to.row_tails.size() < to.up_first[x + 1]) {
            to.row_tails.push_back(x);
        }
    }
    to.row_marks = marks.take();
}

/// Lists the network's arcs by their lower end, each with the slot of its up arc. A slot fits 16
/// bits: what x sees above itself is a clique, so that n up arcs of x mean n(n - 1)/2 of the
/// others.
void match_arcs(GraphView graph, Storage& to) {
    const auto for_each_arc = [&](const auto& visit) {
        for (std::uint32_t v = 0; v < graph.node_count(); ++v) {
            const std::uint32_t x = to.rank_of_node[v];
            for (std::uint32_t a = graph.first_out[v]; a < graph.first_out[v + 1]; ++a) {
                const std::uint32_t y = to.rank_of_node[graph.head[a]];
                if (x != y) {
                    visit(a, x, y);
                }
            }
        }
    };
    to.network_arcs = graph.arc_count();
    to.in_first.assign(graph.node_count() + 1, 0);
    for_each_arc([&](std::uint32_t, std::uint32_t x, std::uint32_t y) {
        ++to.in_first[std::min(x, y) + 1];
    });
    std::partial_sum(to.in_first.begin(), to.in_first.end(), to.in_first.begin());
    to.in_arc.resize(to.in_first.back());
    to.in_slot.resize(to.in_first.back());
    Indices next(to.in_first.begin(), to.in_first.end() - 1);
    const HierarchyArrays view = to.view();
    for_each_arc([&](std::uint32_t a, std::uint32_t x, std::uint32_t y) {
        const std::uint32_t low = std::min(x, y);
        const std::uint32_t slot = view.up_arc(low, std::max(x, y)) - to.up_first[low];
        to.in_arc[next[low]] = 2 * a + (x > y ? 1 : 0);
        to.in_slot[next[low]] = static_cast<std::uint16_t>(slot);
        ++next[low];
    });
}

}  // namespace

Hierarchy Hierarchy::build(GraphView graph, std::span<const std::uint32_t> order,
                           const Progress& progress) {
    if (order.size() != graph.node_count()) {
        throw InputError("the contraction order is not a permutation of the nodes");
    }
    auto storage = std::make_shared<Storage>();
    const Indices first_ranks = inverse(order);
    report(progress, "contracting the network", 0);
    const UpArcs up = eliminate(graph, first_ranks);
    report(progress, "contracting the network", 0.5);
    const Layout layout = lay_out(up);
    storage->rank_of_node.resize(order.size());
    for (std::size_t v = 0; v < order.size(); ++v) {
        storage->rank_of_node[v] = layout.new_rank[first_ranks[v]];
    }
    storage->node_of_rank = inverse(storage->rank_of_node);
    renumber(up, layout, *storage);
    turn_round(*storage);
    mark_rows(*storage);
    report(progress, "contracting the network", 0.8);
    match_arcs(graph, *storage);
    report(progress, "contracting the network", 1);
    const HierarchyArrays view = storage->view();
    return {view, std::move(storage)};
}

std::size_t Hierarchy::bytes() const {
    const HierarchyArrays& h = arrays_;
    return h.node_of_rank.size_bytes() + h.rank_of_node.size_bytes() + h.up_first.size_bytes() +
           h.up_head.size_bytes() + h.parent.size_bytes() + h.depth.size_bytes() +
           h.down_first.size_bytes() + h.down_arc.size_bytes() + h.row_marks.size_bytes() +
           h.row_tails.size_bytes() + h.in_first.size_bytes() + h.in_arc.size_bytes() +
           h.in_slot.size_bytes() + h.job_first.size_bytes();
}

}  // namespace waybourne::routing
