#pragma once
/// Where many share little, as JSON, GeoJSON and CSV: the same over the API and at a terminal.

#include <string>

#include "server/competition.hpp"
#include "server/json/writer.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// `two_step`, `three_step`
const char* to_name(coverage::Catchment catchment);

void write_competition_answer(JsonWriter& json, const Snapshot& snapshot,
                              const CompetitionRequest& request, const CompetitionAnswer& answer);

/// A FeatureCollection (RFC 7946): the settlements with their scores, then the places with theirs.
std::string competition_geojson(const CompetitionAnswer& answer);
/// RFC 4180: a line for each settlement and each place.
std::string competition_csv(const CompetitionAnswer& answer);

}  // namespace waybourne::server
