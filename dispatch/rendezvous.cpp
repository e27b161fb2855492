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

std::optional<Rendezvous> best_rendezvous(const TwoVehicles& two) {
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

}  // namespace waybourne::dispatch
