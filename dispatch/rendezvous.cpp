#include "dispatch/rendezvous.hpp"

#include <algorithm>
#include <array>
#include <tuple>
#include <vector>

#include "routing/reach.hpp"

namespace waybourne::dispatch {

namespace {

using routing::NodeId;
using routing::ReachedNode;

/// A meeting point and the earliest arrival that it could give.
struct Candidate {
    Instant at_best{};
    Seconds her_wait{};
    ReachedNode first;
    routing::TravelTime second;
    auto order() const { return std::tuple{at_best, her_wait, first.node}; }
};

Instant leaves_meeting_point(const TwoVehicles& two, const Candidate& candidate) {
    return std::max(two.first_leaves + candidate.first.travel_time.typical,
                    two.second_leaves + candidate.second.typical) +
           two.transfer;
}

const ReachedNode* find_node(const std::vector<ReachedNode>& nodes, NodeId node) {
    const auto found = std::lower_bound(
        nodes.begin(), nodes.end(), node,
        [](const ReachedNode& reached, NodeId wanted) { return reached.node < wanted; });
    return found == nodes.end() || found->node != node ? nullptr : &*found;
}

std::vector<Candidate> candidates(const TwoVehicles& two, bool& has_timetables) {
    const auto first =
        routing::ReachSearch(two.first).from(std::array{two.her}, two.first_leaves, two.limit);
    routing::ReachSearch search(two.second);
    const auto second = search.from(std::array{two.second_from}, two.second_leaves, two.limit);
    const auto onward = search.to(std::array{two.place}, two.limit);
    has_timetables = onward.has_timetables;
    std::vector<Candidate> all;
    for (const ReachedNode& reached : first.nodes) {
        const ReachedNode* const met = find_node(second.nodes, reached.node);
        const ReachedNode* const goes_on = find_node(onward.nodes, reached.node);
        if (met == nullptr || goes_on == nullptr) {
            continue;
        }
        Candidate candidate{{}, {}, reached, met->travel_time};
        candidate.her_wait =
            std::max(Seconds{0}, two.second_leaves + met->travel_time.typical -
                                     (two.first_leaves + reached.travel_time.typical));
        candidate.at_best = leaves_meeting_point(two, candidate) + goes_on->travel_time.typical;
        all.push_back(candidate);
    }
    return all;
}

Rendezvous as_rendezvous(const Candidate& candidate, routing::Snap snap, Instant arrives) {
    return {candidate.first.node, std::move(snap), candidate.first.travel_time, candidate.second,
            arrives};
}

}  // namespace

std::optional<routing::Snap> snap_at(const routing::Metric& metric, NodeId node) {
    const routing::RoadNetwork& network = metric.network();
    const NodeId original = network.original(node);
    const GeoPoint point = routing::to_geo_point(network.point(original));
    for (routing::ArcId arc = network.first_arc(original); arc != network.end_arc(original);
         ++arc.value) {
        const routing::Piece& piece = network.piece(arc);
        if (!metric.is_open(arc) || piece.is_ferry()) {
            continue;
        }
        const std::uint32_t along = network.is_forward(arc) ? 0 : piece.length_cm;
        return routing::Snap{point,
                             {{network.original(network.piece_of(arc)), along, point, Metres{0}}}};
    }
    return std::nullopt;
}

namespace {

/// By searches over the whole network.
std::optional<Rendezvous> by_searches(const TwoVehicles& two) {
    bool has_timetables = false;
    std::vector<Candidate> all = candidates(two, has_timetables);
    std::sort(all.begin(), all.end(),
              [](const Candidate& a, const Candidate& b) { return a.order() < b.order(); });
    std::optional<Rendezvous> best;
    for (const Candidate& candidate : all) {
        if (best && candidate.at_best >= best->arrives) {
            break;
        }
        auto snap = snap_at(*two.second, candidate.first.node);
        if (!snap) {
            continue;
        }
        Instant arrives = candidate.at_best;
        if (has_timetables) {
            const Instant leaves = leaves_meeting_point(two, candidate);
            const auto takes =
                two.onward->travel_times({*snap, leaves}, std::array{two.place}, two.limit).front();
            if (!takes) {
                continue;
            }
            arrives = leaves + takes->typical;
        }
        if (!best || arrives < best->arrives) {
            best = as_rendezvous(candidate, *std::move(snap), arrives);
        }
    }
    return best;
}

Seconds to_seconds(std::uint32_t ds) {
    constexpr std::uint32_t in_a_second = 10;
    return Seconds{(ds + in_a_second - 1) / in_a_second};  // as `to_travel_time` rounds
}

/// A node where they may meet, with the earliest arrival that it could give.
struct Met {
    Instant at_best{};
    Seconds her_wait{};
    NodeId node;
    auto order() const { return std::tuple{at_best, her_wait, node}; }
};

/// Typical times without waiting, by passes over the network.
class Passes {
public:
    explicit Passes(const TwoVehicles& two)
        : two_(two),
          hierarchy_(two.first_swept->prepared().hierarchy().arrays()),
          ds_(hierarchy_.node_of_rank.size() * routing::together_stride) {
        routing::SweptMetric::meet(*two.first_swept, two.her, *two.second_swept, two.second_from,
                                   two.place, ds_);
        meet_at_originals();
    }

    /// Calls `visit` with each node at which they could meet, in the order of the ranks.
    template <typename Visit>
    void for_each(const Visit& visit) const {
        const std::uint32_t limit = limit_ds();
        for (std::uint32_t rank = 0; rank < hierarchy_.node_of_rank.size(); ++rank) {
            const std::uint32_t* const ds = at(rank);
            if (std::max({ds[first], ds[second], ds[onward]}) > limit) {
                continue;
            }
            const Instant she = two_.first_leaves + to_seconds(ds[first]);
            const Instant they = two_.second_leaves + to_seconds(ds[second]);
            visit(Met{std::max(she, they) + two_.transfer + to_seconds(ds[onward]),
                      std::max(Seconds{0}, they - she), NodeId{hierarchy_.node_of_rank[rank]}});
        }
    }

private:
    /// The order of `SweptMetric::meet`.
    enum Leg : std::size_t { first, second, onward };

    const std::uint32_t* at(std::uint32_t rank) const {
        return ds_.data() + std::size_t{rank} * routing::together_stride;
    }
    std::uint32_t* at(std::uint32_t rank) {
        return ds_.data() + std::size_t{rank} * routing::together_stride;
    }

    std::uint32_t limit_ds() const {
        constexpr Seconds::rep in_a_second = 10;
        return static_cast<std::uint32_t>(
            std::min<Seconds::rep>(routing::closed_ds - 1, two_.limit.count() * in_a_second));
    }

    /// Whoever comes to a copy of a node is there; a trip sets out from the original alone.
    void meet_at_originals() {
        for (const routing::NodeCopy& pair : two_.first->network().arrays().node_copies) {
            std::uint32_t* const original = at(hierarchy_.rank_of_node[pair.original.value]);
            std::uint32_t* const copy = at(hierarchy_.rank_of_node[pair.copy.value]);
            original[first] = std::min(original[first], copy[first]);
            original[second] = std::min(original[second], copy[second]);
            copy[onward] = routing::closed_ds;
        }
    }

    const TwoVehicles& two_;
    const routing::HierarchyArrays& hierarchy_;
    /// `together_stride` per rank.
    std::vector<std::uint32_t> ds_;
};

/// Every leg of a meeting at this node asked of the routers; none where there is no way.
std::optional<Rendezvous> asked_exactly(const TwoVehicles& two, NodeId node) {
    auto snap = snap_at(*two.second, node);
    if (!snap) {
        return std::nullopt;
    }
    const std::array there{*snap};
    const auto one =
        two.first_router->travel_times({two.her, two.first_leaves}, there, two.limit).front();
    const auto other =
        two.onward->travel_times({two.second_from, two.second_leaves}, there, two.limit).front();
    if (!one || !other) {
        return std::nullopt;
    }
    const Instant leaves =
        std::max(two.first_leaves + one->typical, two.second_leaves + other->typical) +
        two.transfer;
    const auto onward =
        two.onward->travel_times({*snap, leaves}, std::array{two.place}, two.limit).front();
    if (!onward) {
        return std::nullopt;
    }
    return Rendezvous{node, *std::move(snap), *one, *other, leaves + onward->typical};
}

/// The best where no timetable matters.
std::optional<Rendezvous> best_met(const TwoVehicles& two, const Passes& passes) {
    std::optional<Met> best;
    passes.for_each([&](const Met& met) {
        if ((!best || met.order() < best->order()) && snap_at(*two.second, met.node)) {
            best = met;
        }
    });
    return best ? asked_exactly(two, best->node) : std::nullopt;
}

/// Asks the most promising nodes exactly.
/// @return false where none of them is proven to be the best
bool ask_promising(const TwoVehicles& two, const Passes& passes, std::optional<Rendezvous>& best) {
    constexpr std::size_t most_asked = 48;
    std::vector<Met> promising;  // a heap, the least promising on top
    const auto less = [](const Met& a, const Met& b) { return a.order() < b.order(); };
    bool are_all = true;
    passes.for_each([&](const Met& met) {
        if (promising.size() > most_asked && !less(met, promising.front())) {
            are_all = false;
            return;
        }
        promising.push_back(met);
        std::push_heap(promising.begin(), promising.end(), less);
        if (promising.size() > most_asked + 1) {
            std::pop_heap(promising.begin(), promising.end(), less);
            promising.pop_back();
            are_all = false;
        }
    });
    std::sort_heap(promising.begin(), promising.end(), less);
    for (const Met& met : promising) {
        if (best && met.at_best >= best->arrives) {
            return true;
        }
        const auto found = asked_exactly(two, met.node);
        if (found && (!best || found->arrives < best->arrives)) {
            best = found;
        }
    }
    return are_all;
}

}  // namespace

std::optional<Rendezvous> best_rendezvous(const TwoVehicles& two) {
    if (two.first_router == nullptr || !two.first_swept || !two.second_swept) {
        return by_searches(two);
    }
    const Passes passes(two);
    if (!two.first->has_waits() && !two.second->has_waits()) {
        return best_met(two, passes);
    }
    std::optional<Rendezvous> best;
    return ask_promising(two, passes, best) ? best : by_searches(two);
}

}  // namespace waybourne::dispatch
