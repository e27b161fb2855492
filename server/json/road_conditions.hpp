#pragma once
/// The state of the roads as JSON.

#include "server/json/writer.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// What counts at `now`, by season and daylight, and every change that is known of.
void write_road_state(JsonWriter& json, const Snapshot& snapshot, Instant now);

/// `{"id", "where", "slower_by", "from", "until", "reason"}`
void write_change(JsonWriter& json, const routing::RoadChange& change);

}  // namespace waybourne::server
