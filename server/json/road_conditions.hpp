#pragma once
/// The state of the roads as JSON.

#include "server/json/writer.hpp"
#include "server/referrals/road_notice.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// What counts at `now`, by season and daylight, and every change that is known of.
/// @param notices those that somebody reported here, for their author and time
void write_road_state(JsonWriter& json, const Snapshot& snapshot, Instant now,
                      const std::vector<RoadNotice>& notices);

/// `{"id", "where", "slower_by", "from", "until", "reason"}`
void write_change(JsonWriter& json, const routing::RoadChange& change);

}  // namespace waybourne::server
