#pragma once
/// The questions about ways that every engine answers alike.

#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "routing/route.hpp"
#include "routing/snap.hpp"
#include "routing/travel_time.hpp"

namespace waybourne::routing {

/// Where and when a trip starts.
struct Departure {
    Snap from;
    Instant at{};
};

/// One of the nearest targets: its index in the span that was asked, and the time to it.
struct Nearest {
    std::size_t target = 0;
    TravelTime travel_time;
    bool operator==(const Nearest&) const = default;
};

/// Two engines keep these promises, and the tests hold them equal: ReferenceRouter (Boost.Graph,
/// the oracle) and, for whole countries, a customizable contraction hierarchy. A router is a search
/// workspace over an immutable network and metric: one per thread.
///
/// The way that is meant is the one with the least typical time, waiting for ferries included; of
/// equally quick ways the one with the least spread, so that `allow` is well defined.
class Router {
public:
    virtual ~Router() = default;

    /// The time to each target, in the order given; none where no way exists or the typical time
    /// would exceed `limit`. Walking between the points and the road is included.
    virtual std::vector<std::optional<TravelTime>> travel_times(const Departure& departure,
                                                                std::span<const Snap> targets,
                                                                Seconds limit) = 0;

    /// The way itself; none where none exists.
    virtual std::optional<Route> route(const Departure& departure, const Snap& target) = 0;

    /// The `count` targets with the least typical time among those that `accept` takes, nearest
    /// first, equal times in the order of `targets`. Stops searching once they are found.
    virtual std::vector<Nearest> nearest(const Departure& departure, std::span<const Snap> targets,
                                         std::size_t count, Seconds limit,
                                         const std::function<bool(std::size_t)>& accept) = 0;
};

}  // namespace waybourne::routing
