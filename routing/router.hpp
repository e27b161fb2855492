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
    /// Since departure: when what is needed can begin there; not before the typical arrival.
    Seconds ready{};
    bool operator==(const Nearest&) const = default;
};

/// When what is needed can begin at a target for somebody who gets there after `travel_time`, in
/// time since departure; none where it cannot. Asked only of targets that are in reach, with the
/// best way's time, nearest first. An answer before the typical arrival counts as the arrival.
using ReadyAfter =
    std::function<std::optional<Seconds>(std::size_t target, const TravelTime& travel_time)>;

/// Whatever the arrival: the targets that `accept` takes are ready when one gets there.
ReadyAfter ready_if(std::function<bool(std::size_t)> accept);
/// Ready when one gets there, or never: the arrival decides.
ReadyAfter ready_if(std::function<bool(std::size_t, const TravelTime&)> accept);

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

    /// The best way that uses none of these pieces, in either direction, not even in part; none
    /// where none exists. What is asked when the bridge is out.
    /// @throws InputError if a piece is not of this network
    virtual std::optional<Route> route_around(const Departure& departure, const Snap& target,
                                              std::span<const PieceId> avoided) = 0;

    /// The `count` targets that are ready soonest, equal ones in the order of `targets`. Stops
    /// searching once the way alone takes longer than the last of them needs in all. Exact for any
    /// `ready_after`, since nothing begins before one is there.
    /// @param limit of the typical travel time
    virtual std::vector<Nearest> nearest(const Departure& departure, std::span<const Snap> targets,
                                         std::size_t count, Seconds limit,
                                         const ReadyAfter& ready_after) = 0;
};

}  // namespace waybourne::routing
