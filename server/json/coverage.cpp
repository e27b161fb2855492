#include "server/json/coverage.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "server/json/internal/coverage_parts.hpp"
#include "server/json/route.hpp"
#include "server/json/speed_offer.hpp"
#include "server/planning_inputs.hpp"
#include "server/upgrade_goal.hpp"

namespace waybourne::server {

namespace {

void write_settlement(JsonWriter& json, const CoverageAnswer& answer, std::size_t i) {
    const coverage::Settlement& settlement = answer.settlements[i];
    const coverage::SettlementAccess& access = answer.accesses[i];
    json.member("id", settlement.id).member("name", settlement.name);
    json.member("area", settlement.area);
    json.key("births_per_year").value(settlement.births_per_year, 2);
    json.member("births_are_estimated", settlement.births_are_estimated);
    json.member("access", coverage::to_name(access.access));
    json.key("facility");
    if (access.place) {
        json.value(facility_at(answer.facilities, access.place));
    } else {
        json.null();
    }
    const auto time = [&](const char* name, const std::optional<routing::TravelTime>& given) {
        json.key(name);
        if (given) {
            write_travel_time(json, *given);
        } else {
            json.null();
        }
    };
    time("care_s", access.care);
    time("way_s", access.way);
    json.member("places_in_time", static_cast<int>(access.places_in_time));
}

void write_distribution(JsonWriter& json, const CoverageAnswer& answer) {
    const std::optional<coverage::Distribution>& spread = answer.distribution;
    json.key("distribution");
    if (!spread) {
        json.null();
        return;
    }
    json.begin_object();
    json.key("mean_s").value(spread->mean, 0).key("median_s").value(spread->median, 0);
    json.key("ninetieth_s").value(spread->ninetieth, 0);
    json.key("worst_decile_s").value(spread->worst_decile, 0);
    write_maybe(json, "worst_to_best_fifth", spread->worst_to_best_fifth);
    write_maybe(json, "gini", spread->gini);
    write_maybe(json, "concentration", answer.concentration);
    json.key("share_without").value(spread->share_without, decimals);
    json.end_object();
}

void write_areas(JsonWriter& json, const CoverageAnswer& answer) {
    json.key("areas").begin_list();
    for (const coverage::AreaAccess& area : answer.areas) {
        json.begin_object().member("area", area.area).key("total");
        write_total(json, area.total);
        json.end_object();
    }
    json.end_list();
}

void write_failure(JsonWriter& json, const coverage::Failure& failure) {
    json.key("births_lost").value(failure.births_lost, 2);
    json.key("births_cut_off").value(failure.births_cut_off, 2);
    json.key("birth_minutes_added").value(failure.birth_minutes_added, 0);
}

void write_link(JsonWriter& json, const LinkFailure& link) {
    json.member("road", link.road).member("road_id", link.road_id.value);
    json.member("road_class", link.road_class).member("bridge", link.is_bridge);
    json.member("ford", link.is_ford).member("ferry", link.is_ferry);
    json.key("length_m").value(link.length.value(), 0);
    write_failure(json, link.failure);
}

void write_lines(JsonWriter& json, const std::vector<std::vector<GeoPoint>>& lines) {
    json.begin_object().member("type", "MultiLineString").key("coordinates").begin_list();
    for (const auto& line : lines) {
        json.begin_list();
        for (const GeoPoint& point : line) {
            json.value(point);
        }
        json.end_list();
    }
    json.end_list().end_object();
}

void write_moved(JsonWriter& json, const char* name, const std::vector<coverage::Settlement>& all,
                 const std::vector<std::size_t>& settlements) {
    json.key(name).begin_list();
    for (const std::size_t i : settlements) {
        const coverage::Settlement& settlement = all[i];
        json.begin_object().member("id", settlement.id).member("name", settlement.name);
        json.key("births_per_year").value(settlement.births_per_year, 2).end_object();
    }
    json.end_list();
}

void write_scenario(JsonWriter& json, const coverage::Scenario& scenario,
                    const ScenarioAnswer& answer, const CoverageAnswer& before) {
    json.begin_object().member("name", answer.name);
    json.key("changes").begin_list();
    for (const coverage::Change& change : scenario.changes) {
        json.value(coverage::to_name(change));
    }
    json.end_list().key("total");
    write_total(json, answer.after.total);
    json.key("births_more_in_time")
        .value(answer.after.total.in_time - before.total.in_time, decimals);
    write_moved(json, "gained", before.settlements, answer.gained.lost);
    write_moved(json, "lost", before.settlements, answer.lost.lost);
    json.end_object();
}

std::vector<std::string> facility_ids(const Snapshot& snapshot,
                                      const std::vector<std::size_t>& positions) {
    std::vector<std::string> ids;
    ids.reserve(positions.size());
    for (const std::size_t position : positions) {
        ids.push_back(snapshot.facilities.facilities()[position].id.value());
    }
    return ids;
}

void write_minutes_told(JsonWriter& json, const UpgradeAnswer& answer) {
    json.key("minutes");
    if (!answer.minutes) {
        json.null();
        return;
    }
    json.begin_object().key("before").value(answer.minutes->before, 2);
    json.key("after").value(answer.minutes->after, 2);
    json.key("no_plan_has_less_than").value(answer.minutes->no_plan_has_less_than, 2);
    write_moved(json, "beyond_any_plan", answer.before.settlements,
                answer.minutes->beyond_any_plan);
    json.end_object();
}

void write_upgrade(JsonWriter& json, const Snapshot& snapshot, const Upgrade& upgrade) {
    const auto& facility = snapshot.facilities.facilities()[upgrade.facility];
    json.begin_object().member("facility", facility.id).member("name", facility.name);
    json.key("latitude").value(facility.point.latitude().degrees, 7);
    json.key("longitude").value(facility.point.longitude().degrees, 7);
    json.key("cost").value(upgrade.cost, 2);
    json.key("births_lost_without_it").value(upgrade.births_only_by_it, 2);
    json.key("worth_lost_without_it").value(upgrade.worth_only_by_it, 2);
    json.key("worth_alone").begin_list();
    for (const double worth : upgrade.worth_alone) {
        json.value(worth, 2);
    }
    json.end_list().key("ranks").begin_list();
    for (const std::size_t rank : upgrade.ranks) {
        json.value(rank);
    }
    json.end_list().member("rank_is_sure", upgrade.is_rank_sure());
    json.end_object();
}

}  // namespace

void write_inputs(JsonWriter& json, const Snapshot& snapshot, const CoverageRequest& request,
                  const routing::RoadConditions& conditions, Instant leave_at,
                  const coverage::CareAssumptions& assumptions) {
    json.key("inputs").begin_object();
    json.key("needs");
    write_names(json, request.question.needed);
    json.member("standard_s", request.question.standard);
    json.member("readiness", coverage::to_name(request.readiness));
    json.member("transport", coverage::to_name(request.transport));
    json.member("means", routing::to_name(request.means));
    json.member("leave_at", leave_at);
    json.member("surface", conditions.surface == routing::Surface::wet ? "wet" : "dry");
    json.member("light", conditions.light == routing::Light::night ? "night" : "day");
    json.member("preparation_s", assumptions.preparation);
    json.member("handover_s", assumptions.handover);
    if (request.transport == coverage::Transport::sent) {
        json.member("loading_s", assumptions.loading);
    }
    json.member("program", WAYBOURNE_VERSION).key("sha256").begin_object();
    for (const auto& [name, sha256] : planning_inputs(snapshot, request, leave_at)) {
        json.member(name, sha256);
    }
    json.end_object().end_object();
}

std::vector<std::size_t> gaps_of(const CoverageAnswer& answer) {
    std::vector<std::size_t> gaps;
    for (std::size_t i = 0; i < answer.accesses.size(); ++i) {
        if (answer.accesses[i].access != coverage::AccessClass::in_time) {
            gaps.push_back(i);
        }
    }
    std::stable_sort(gaps.begin(), gaps.end(), [&](std::size_t a, std::size_t b) {
        return answer.settlements[a].births_per_year > answer.settlements[b].births_per_year;
    });
    return gaps;
}

void write_coverage_answer(JsonWriter& json, const Snapshot& snapshot,
                           const CoverageRequest& request, const CoverageAnswer& answer) {
    json.begin_object();
    write_inputs(json, snapshot, request, answer.road_conditions, answer.leave_at,
                 answer.assumptions);
    json.key("total");
    write_total(json, answer.total);
    write_distribution(json, answer);
    write_areas(json, answer);
    write_facilities(json, answer);
    json.key("curve").begin_list();
    for (const coverage::CurvePoint& point : answer.curve) {
        json.begin_object().member("standard_s", point.standard);
        json.key("at_least").value(point.at_least, decimals);
        json.key("at_most").value(point.at_most, decimals);
        json.key("way_only").value(point.way_only, decimals).end_object();
    }
    json.end_list().key("settlements").begin_list();
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        json.begin_object();
        write_settlement(json, answer, i);
        json.key("latitude").value(answer.settlements[i].point.latitude().degrees, 7);
        json.key("longitude").value(answer.settlements[i].point.longitude().degrees, 7);
        json.end_object();
    }
    json.end_list().end_object();
}

void write_what_if_answer(JsonWriter& json, const Snapshot& snapshot, const WhatIfRequest& request,
                          const WhatIfAnswer& answer) {
    json.begin_object();
    write_inputs(json, snapshot, request.coverage, answer.before.road_conditions,
                 answer.before.leave_at, answer.before.assumptions);
    json.key("before");
    write_total(json, answer.before.total);
    json.key("scenarios").begin_list();
    for (std::size_t i = 0; i < answer.scenarios.size(); ++i) {
        write_scenario(json, request.scenarios[i], answer.scenarios[i], answer.before);
    }
    json.end_list().end_object();
}

void write_upgrade_answer(JsonWriter& json, const Snapshot& snapshot, const UpgradeRequest& request,
                          const UpgradeAnswer& answer) {
    json.begin_object();
    write_inputs(json, snapshot, request.coverage, answer.before.road_conditions,
                 answer.before.leave_at, answer.before.assumptions);
    json.member("objective", to_name(request.objective));
    json.member("years", request.years).member("robust", request.is_robust);
    json.key("before");
    write_total(json, answer.before.total);
    json.key("upgrades").begin_list();
    for (const Upgrade& upgrade : answer.upgrades) {
        write_upgrade(json, snapshot, upgrade);
    }
    json.end_list();
    if (request.is_robust) {
        json.key("births_in_time_at_worst").value(answer.plan.value, 2);
    } else {
        json.key("births_gained").value(answer.births_gained, 2);
        json.key("worth").value(answer.plan.value, 2);
    }
    json.key("no_plan_gains_more_than").value(answer.plan.bound, 2);
    write_minutes_told(json, answer);
    json.member("without_capacity", facility_ids(snapshot, answer.without_capacity));
    json.member("is_proven", answer.plan.is_proven());
    json.key("gap").value(answer.plan.gap(), decimals);
    json.key("cost").value(answer.plan.cost, 2);
    json.key("phases").begin_list();
    for (const UpgradePhase& phase : answer.phases) {
        json.begin_object().key("budget").value(phase.budget, 2);
        json.member("facilities", facility_ids(snapshot, phase.facilities));
        json.key("cost").value(phase.cost, 2);
        json.key("births_gained").value(phase.births_gained, 2);
        json.key("worth").value(phase.worth, 2).end_object();
    }
    json.end_list().key("curve").begin_list();
    for (const BudgetPoint& point : answer.curve) {
        json.begin_object().key("budget").value(point.budget, 2).key("cost").value(point.cost, 2);
        json.key("births_gained").value(point.births_gained, 2);
        json.key("worth").value(point.worth, 2);
        json.key("no_plan_gains_more_than").value(point.bound, 2);
        json.member("facilities", facility_ids(snapshot, point.facilities)).end_object();
    }
    json.end_list().key("births_by_season").begin_list();
    for (const double births : answer.births_by_season) {
        json.value(births, 2);
    }
    json.end_list().end_object();
}

void write_links_answer(JsonWriter& json, const Snapshot& snapshot, const CoverageRequest& request,
                        const LinksAnswer& answer) {
    json.begin_object();
    write_inputs(json, snapshot, request, answer.road_conditions, answer.leave_at,
                 answer.assumptions);
    json.key("births_per_year").value(answer.births, decimals);
    json.key("births_in_time").value(answer.births_in_time, decimals);
    json.member("waiting_is_counted", !answer.has_timetables);
    json.key("links").begin_list();
    for (const LinkFailure& link : answer.links) {
        json.begin_object();
        write_link(json, link);
        json.key("geometry");
        write_lines(json, link.lines);
        json.end_object();
    }
    json.end_list().key("pairs").begin_list();
    for (const LinkPairFailure& pair : answer.pairs) {
        json.begin_object().key("links").begin_list();
        json.value(pair.first).value(pair.second).end_list();
        write_failure(json, pair.failure);
        json.end_object();
    }
    json.end_list().key("facilities").begin_list();
    for (const PlaceFailure& place : answer.places) {
        json.begin_object().member("facility", place.facility);
        write_failure(json, place.failure);
        json.end_object();
    }
    json.end_list().key("vehicles").begin_list();
    for (const VehicleFailure& vehicle : answer.vehicles) {
        json.begin_object().member("vehicle", vehicle.vehicle);
        json.key("births_lost").value(vehicle.births_lost, 2).end_object();
    }
    json.end_list().end_object();
}

void write_overview_answer(JsonWriter& json, const Snapshot& snapshot,
                           const CoverageRequest& request, const OverviewAnswer& answer) {
    json.begin_object();
    json.member("standard_s", request.question.standard);
    json.member("readiness", coverage::to_name(request.readiness));
    json.member("transport", coverage::to_name(request.transport));
    json.key("sha256").begin_object();
    for (const auto& [name, sha256] : snapshot.files) {
        json.member(name, sha256);
    }
    json.end_object().key("rows").begin_list();
    for (std::size_t row = 0; row < answer.care.size(); ++row) {
        json.begin_object().member("care", answer.care[row].name).key("needs");
        write_names(json, answer.care[row].needed);
        json.key("cells").begin_list();
        for (std::size_t column = 0; column < answer.times.size(); ++column) {
            json.begin_object().member("leave_at", answer.times[column].leave_at);
            json.key("road_conditions");
            write_road_conditions(json, answer.times[column].conditions);
            json.key("total");
            write_total(json, answer.at(row, column));
            json.end_object();
        }
        json.end_list().end_object();
    }
    json.end_list().end_object();
}

std::string to_name(const routing::RoadConditions& conditions) {
    return std::string(conditions.surface == routing::Surface::wet ? "wet" : "dry") +
           (conditions.light == routing::Light::night ? "_night" : "_day");
}

void write_losses_answer(JsonWriter& json, const LossesAnswer& answer) {
    const auto time = [&](const ReportTime& one) {
        json.member("leave_at", one.leave_at).key("road_conditions");
        write_road_conditions(json, one.conditions);
    };
    json.begin_object().key("before").begin_object();
    time(answer.dry_noon);
    json.end_object().key("losses").begin_list();
    for (const SeasonLoss& one : answer.losses) {
        json.begin_object();
        time(one.then);
        json.key("births_lost").value(one.loss.births_lost, 2);
        json.key("births_in_doubt").value(one.loss.births_in_doubt, 2);
        json.key("births_gained").value(one.loss.births_gained, 2);
        write_moved(json, "lost", answer.settlements, one.loss.lost);
        json.end_object();
    }
    json.end_list().end_object();
}

void write_journeys_answer(JsonWriter& json, const Snapshot& snapshot, const JourneysAnswer& answer,
                           Instant now) {
    json.begin_object().key("groups").begin_list();
    for (const DelayGroup& group : answer.groups) {
        json.begin_object().member("group", group.name).member("referrals", group.referrals);
        json.key("delays").begin_list();
        for (const auto& [name, spread] : group.delays) {
            json.begin_object().member("delay", name).member("recorded", spread.count);
            json.member("median_s", spread.median).member("ninetieth_s", spread.ninetieth);
            json.end_object();
        }
        json.end_list().end_object();
    }
    json.end_list().key("calibrations").begin_list();
    for (const coverage::Calibration& one : answer.calibrations) {
        json.begin_object().key("road_conditions");
        write_road_conditions(json, one.conditions);
        json.member("journeys", one.journeys);
        write_maybe(json, "median_ratio", one.median_ratio);
        write_maybe(json, "share_within_allow", one.share_within_allow);
        write_maybe(json, "speed_factor", one.speed_factor);
        json.end_object();
    }
    json.end_list().member("ways", answer.ways).key("classes").begin_list();
    for (const coverage::ClassCalibration& one : answer.classes) {
        json.begin_object();
        write_calibration(json, one);
        json.end_object();
    }
    json.end_list().key("offer");
    write_speed_offer(json, speed_offer(snapshot, answer, now));
    json.end_object();
}

void write_sensitivity(JsonWriter& json, const std::vector<SensitivityPoint>& points) {
    json.begin_list();
    for (const SensitivityPoint& point : points) {
        json.begin_object().key("time_factor").value(point.time_factor, 2).key("total");
        write_total(json, point.total);
        json.end_object();
    }
    json.end_list();
}

std::string settlements_geojson(const CoverageAnswer& answer) {
    JsonWriter json;
    json.begin_object().member("type", "FeatureCollection").key("features").begin_list();
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        begin_feature(json, answer.settlements[i].point);
        json.begin_object();
        write_settlement(json, answer, i);
        json.end_object().end_object();
    }
    return json.end_list().end_object().take();
}

std::string links_geojson(const LinksAnswer& answer) {
    JsonWriter json;
    json.begin_object().member("type", "FeatureCollection").key("features").begin_list();
    for (const LinkFailure& link : answer.links) {
        json.begin_object().member("type", "Feature").key("geometry");
        write_lines(json, link.lines);
        json.key("properties").begin_object();
        write_link(json, link);
        json.end_object().end_object();
    }
    return json.end_list().end_object().take();
}

std::string upgrades_geojson(const Snapshot& snapshot, const UpgradeAnswer& answer) {
    JsonWriter json;
    json.begin_object().member("type", "FeatureCollection").key("features").begin_list();
    for (const Upgrade& upgrade : answer.upgrades) {
        const auto& facility = snapshot.facilities.facilities()[upgrade.facility];
        begin_feature(json, facility.point);
        write_upgrade(json, snapshot, upgrade);
        json.end_object();
    }
    return json.end_list().end_object().take();
}

std::string losses_geojson(const LossesAnswer& answer) {
    JsonWriter json;
    json.begin_object().member("type", "FeatureCollection").key("features").begin_list();
    for (const SeasonLoss& one : answer.losses) {
        for (const std::size_t i : one.loss.lost) {
            const coverage::Settlement& settlement = answer.settlements[i];
            begin_feature(json, settlement.point);
            json.begin_object();
            json.member("when", to_name(one.then.conditions));
            json.member("id", settlement.id).member("name", settlement.name);
            json.key("births_per_year").value(settlement.births_per_year, 2);
            json.end_object().end_object();
        }
    }
    return json.end_list().end_object().take();
}

}  // namespace waybourne::server
