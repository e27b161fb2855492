#pragma once
/// What somebody said about a road: closed, slower, for how long.

#include <string>

#include "routing/closure.hpp"

namespace waybourne::server {

/// A change on the roads with its author.
struct RoadNotice {
    routing::RoadChange change;
    /// The account that said it.
    std::string who;
    Instant at{};
    bool operator==(const RoadNotice&) const = default;
};

/// Whether the line runs along one of the pieces, judged to a few metres: crossing one does not
/// count. O(line × points of the pieces).
bool runs_along(const std::vector<GeoPoint>& line, const routing::RoadNetwork& network,
                const std::vector<routing::PieceId>& pieces);

}  // namespace waybourne::server
