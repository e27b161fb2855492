#pragma once
/// The place on the way where a better vehicle takes over.
///
///     T(x) = max(leaves_1 + t1(her, x), leaves_2 + t2(from, x)) + transfer + t2(x, place)
///
/// is least over all nodes x of the network, judged by typical times; of equal ones the node at
/// which she waits less, then the lower number.

#include <memory>
#include <optional>

#include "routing/metric.hpp"
#include "routing/router.hpp"
#include "routing/swept_metric.hpp"

namespace waybourne::dispatch {

/// One vehicle brings her, another comes to meet them. Both metrics are of one network.
struct TwoVehicles {
    routing::Snap her;
    Instant first_leaves{};
    std::shared_ptr<const routing::Metric> first;
    routing::Snap second_from;
    Instant second_leaves{};
    std::shared_ptr<const routing::Metric> second;
    /// Searches `second`.
    routing::Router* onward = nullptr;
    routing::Snap place;
    Seconds transfer{};
    /// No leg longer than this.
    Seconds limit{};
    /// Searches `first`. With it and the two below passes over the network stand in for searches.
    routing::Router* first_router = nullptr;
    /// `first` and `second`, of one hierarchy.
    std::shared_ptr<const routing::SweptMetric> first_swept = nullptr;
    std::shared_ptr<const routing::SweptMetric> second_swept = nullptr;
};

struct Rendezvous {
    routing::NodeId node;
    routing::Snap snap;
    /// From leaving to the meeting point, of each vehicle.
    routing::TravelTime first;
    routing::TravelTime second;
    /// By typical times.
    Instant arrives{};
    bool operator==(const Rendezvous&) const = default;
};

/// A place exactly at a node; none where no open piece touches it.
std::optional<routing::Snap> snap_at(const routing::Metric& metric, routing::NodeId node);

/// Exact. One search from each vehicle and one back from the place, each over the whole network;
/// where a timetable lies on the way onward, nodes are asked one by one in the order of what they
/// can reach at best, until none can be better. None where the two cannot meet.
///
/// With `first_router` and both swept metrics the three searches are passes of the hierarchy
/// (routing/sweep.hpp), and what they find is equal. Where timetables could matter the passes say
/// what each node can reach at best; a few dozen are then asked exactly, and if none of them is
/// proven to be the best, the searches decide.
std::optional<Rendezvous> best_rendezvous(const TwoVehicles& two);

}  // namespace waybourne::dispatch
