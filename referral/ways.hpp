#pragma once
/// The travel times of one choice, each asked once.

#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "referral/situation.hpp"

namespace waybourne::referral {

using TravelTimes = std::vector<std::optional<routing::TravelTime>>;

/// Remembers what the router answered. Lives as long as one call of `recommend`.
class Ways {
public:
    Ways(routing::Router& router, const Situation& situation);

    /// From where she is to every place of the register, by position. One search per departure.
    const TravelTimes& from_start(Instant departs);
    /// From a place to every other place that offers something she must be sent for; none for the
    /// others. One search per place and departure.
    const TravelTimes& from_place(std::size_t place, Instant departs);

    /// The way itself; an empty one where the router has none after all.
    const routing::Route& route(std::optional<std::size_t> from, Instant departs, std::size_t to);

    /// To one place, leaving later than planned; not remembered.
    std::optional<routing::TravelTime> travel_time(std::optional<std::size_t> from, Instant departs,
                                                   std::size_t to);

private:
    routing::Departure departure(std::optional<std::size_t> from, Instant departs) const;
    TravelTimes search(std::optional<std::size_t> from, Instant departs,
                       const std::vector<std::size_t>& targets);

    routing::Router* router_;
    std::span<const std::optional<routing::Snap>> snaps_;
    const Start* start_;
    Seconds limit_;
    std::vector<std::size_t> on_the_map_;
    std::vector<std::size_t> useful_;
    /// The place left from (none: where she is) and the departure.
    using From = std::pair<std::optional<std::size_t>, Instant>;
    std::map<From, TravelTimes> times_;
    std::map<std::pair<From, std::size_t>, routing::Route> routes_;
};

}  // namespace waybourne::referral
