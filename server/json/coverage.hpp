#pragma once
/// Answers for planners as JSON and GeoJSON: the same over the API and at a terminal.

#include <string>

#include "server/coverage.hpp"
#include "server/coverage_indicators.hpp"
#include "server/coverage_trust.hpp"
#include "server/critical_links.hpp"
#include "server/json/writer.hpp"
#include "server/observed_journeys.hpp"
#include "server/upgrades.hpp"

namespace waybourne::server {

/// What makes a figure traceable: the question, every assumption, the program's version, and the
/// SHA-256 of everything that it rests on (`planning_inputs`).
void write_inputs(JsonWriter& json, const Snapshot& snapshot, const CoverageRequest& request,
                  const routing::RoadConditions& conditions, Instant leave_at,
                  const coverage::CareAssumptions& assumptions);

void write_coverage_answer(JsonWriter& json, const Snapshot& snapshot,
                           const CoverageRequest& request, const CoverageAnswer& answer);
void write_what_if_answer(JsonWriter& json, const Snapshot& snapshot, const WhatIfRequest& request,
                          const WhatIfAnswer& answer);
void write_upgrade_answer(JsonWriter& json, const Snapshot& snapshot, const UpgradeRequest& request,
                          const UpgradeAnswer& answer);
void write_links_answer(JsonWriter& json, const Snapshot& snapshot, const CoverageRequest& request,
                        const LinksAnswer& answer);
void write_trust_answer(JsonWriter& json, const TrustAnswer& answer);
void write_indicator_answer(JsonWriter& json, const IndicatorAnswer& answer);
void write_overview_answer(JsonWriter& json, const Snapshot& snapshot,
                           const CoverageRequest& request, const OverviewAnswer& answer);
void write_losses_answer(JsonWriter& json, const LossesAnswer& answer);
void write_journeys_answer(JsonWriter& json, const Snapshot& snapshot, const JourneysAnswer& answer,
                           Instant now);
void write_sensitivity(JsonWriter& json, const std::vector<SensitivityPoint>& points);

/// A FeatureCollection (RFC 7946) of the settlements.
std::string settlements_geojson(const CoverageAnswer& answer);
/// A FeatureCollection of the roads.
std::string links_geojson(const LinksAnswer& answer);

/// A FeatureCollection of the places to raise.
std::string upgrades_geojson(const Snapshot& snapshot, const UpgradeAnswer& answer);
/// A FeatureCollection of the settlements that are no longer in time, once for each season and
/// hour.
std::string losses_geojson(const LossesAnswer& answer);

/// `wet_day`, `dry_night` …
std::string to_name(const routing::RoadConditions& conditions);

/// Those not in time, most births first.
std::vector<std::size_t> gaps_of(const CoverageAnswer& answer);

}  // namespace waybourne::server
