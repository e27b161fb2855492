#pragma once
/// The way that a search found, and how it is told to people.

#include <vector>

#include "routing/internal/label.hpp"
#include "routing/route.hpp"
#include "routing/router.hpp"

namespace waybourne::routing {

/// An arc, or the part of it that is used, along its own direction.
struct ArcPart {
    ArcId arc;
    std::uint32_t from_cm = 0;
    std::uint32_t to_cm = 0;
    bool operator==(const ArcPart&) const = default;
};

/// Off the road to the first access, along the arcs, and off the road again.
struct Way {
    Access start;
    std::vector<ArcPart> parts;
    Access end;
};

/// The label after one more part; a ferry is never taken in part.
Label along(const Label& label, const Metric& metric, const ArcPart& part, Instant departure);

/// Names, distances, waits and a line for the map. Legs' typical times add up to the route's; where
/// a leg's own `allow` would be less than its `typical` (a ferry caught sooner by those who allow
/// more time) it is the same.
Route to_route(const Metric& metric, const Departure& departure, const Snap& target,
               const Way& way);

}  // namespace waybourne::routing
