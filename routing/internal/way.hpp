#pragma once
/// The way that a search found, and how it is told to people.

#include <vector>

#include "routing/arc_part.hpp"
#include "routing/internal/label.hpp"
#include "routing/route.hpp"
#include "routing/router.hpp"

namespace waybourne::routing {

/// Off the road to the first access, along the arcs, and off the road again.
struct Way {
    Access start;
    std::vector<ArcPart> parts;
    Access end;
};

/// The label after one more part; a ferry is never taken in part, and a part of a road with hours
/// is set out on within them.
Label along(const Label& label, const Metric& metric, const ArcPart& part, Instant departure);

/// The points of the part, its ends included, in the direction of travel.
std::vector<GeoPoint> line_of(const RoadNetwork& network, const ArcPart& part);

/// Names, distances, waits and a line for the map. Legs' typical times add up to the route's; where
/// a leg's own `allow` would be less than its `typical` (a ferry caught sooner by those who allow
/// more time) it is the same.
Route to_route(const Metric& metric, const Departure& departure, const Snap& target,
               const Way& way);

}  // namespace waybourne::routing
