#include "server/json/competition.hpp"

#include <fmt/format.h>

#include "server/json/coverage.hpp"
#include "server/json/internal/coverage_parts.hpp"

namespace waybourne::server {

namespace {

constexpr int score_decimals = 6;

void write_scored_settlement(JsonWriter& json, const CompetitionAnswer& answer, std::size_t i) {
    const coverage::Settlement& settlement = answer.access.settlements[i];
    json.member("id", settlement.id).member("name", settlement.name);
    json.member("area", settlement.area);
    json.key("births_per_year").value(settlement.births_per_year, 2);
    write_maybe(json, "score", answer.of_settlement[i], score_decimals);
}

void write_scored_place(JsonWriter& json, const CompetitionAnswer& answer, std::size_t place) {
    write_load(json, answer.access, place);
    write_maybe(json, "score", answer.of_place[place], score_decimals);
}

void write_ids(JsonWriter& json, const char* name, const CompetitionAnswer& answer,
               const std::vector<std::size_t>& places) {
    json.key(name).begin_list();
    for (const std::size_t place : places) {
        json.value(answer.access.facilities.facilities()[place].id);
    }
    json.end_list();
}

void write_spread(JsonWriter& json, const std::optional<coverage::Distribution>& spread) {
    json.key("distribution");
    if (!spread) {
        json.null();
        return;
    }
    json.begin_object();
    json.key("mean").value(spread->mean, score_decimals);
    json.key("median").value(spread->median, score_decimals);
    write_maybe(json, "gini", spread->gini);
    json.key("share_without").value(spread->share_without, decimals).end_object();
}

}  // namespace

const char* to_name(coverage::Catchment catchment) {
    return catchment == coverage::Catchment::two_step ? "two_step" : "three_step";
}

void write_competition_answer(JsonWriter& json, const Snapshot& snapshot,
                              const CompetitionRequest& request, const CompetitionAnswer& answer) {
    json.begin_object();
    write_inputs(json, snapshot, request.coverage, answer.access.road_conditions,
                 answer.access.leave_at, answer.access.assumptions);
    json.member("catchment", to_name(request.catchment)).key("zones").begin_list();
    for (const coverage::Zone& zone : request.zones) {
        json.begin_object().member("until_s", zone.until);
        json.key("weight").value(zone.weight, decimals).end_object();
    }
    json.end_list();
    write_spread(json, answer.distribution);
    json.key("facilities").begin_list();
    for (std::size_t place = 0; place < answer.of_place.size(); ++place) {
        json.begin_object();
        write_scored_place(json, answer, place);
        json.end_object();
    }
    json.end_list().key("settlements").begin_list();
    for (std::size_t i = 0; i < answer.of_settlement.size(); ++i) {
        json.begin_object();
        write_scored_settlement(json, answer, i);
        write_position(json, answer.access.settlements[i].point);
        json.end_object();
    }
    json.end_list();
    write_ids(json, "without_capacity", answer, answer.without_capacity);
    write_ids(json, "without_readiness", answer, answer.without_readiness);
    json.end_object();
}

std::string competition_geojson(const CompetitionAnswer& answer) {
    JsonWriter json;
    json.begin_object().member("type", "FeatureCollection").key("features").begin_list();
    for (std::size_t i = 0; i < answer.of_settlement.size(); ++i) {
        begin_feature(json, answer.access.settlements[i].point);
        json.begin_object();
        write_scored_settlement(json, answer, i);
        json.end_object().end_object();
    }
    for (std::size_t place = 0; place < answer.of_place.size(); ++place) {
        begin_feature(json, answer.access.facilities.facilities()[place].point);
        json.begin_object();
        write_scored_place(json, answer, place);
        json.end_object().end_object();
    }
    return json.end_list().end_object().take();
}

std::string competition_csv(const CompetitionAnswer& answer) {
    std::vector<std::string> lines;
    for (std::size_t i = 0; i < answer.of_settlement.size(); ++i) {
        const coverage::Settlement& settlement = answer.access.settlements[i];
        lines.push_back(fmt::format("settlement,{},{},{},,,{}", settlement.id.value(),
                                    csv_value(settlement.name), figure(settlement.births_per_year),
                                    figure(answer.of_settlement[i])));
    }
    for (std::size_t place = 0; place < answer.of_place.size(); ++place) {
        const auto& facility = answer.access.facilities.facilities()[place];
        const coverage::PlaceLoad& load = answer.access.loads[place];
        lines.push_back(fmt::format("facility,{},{},{},{},{},{}", facility.id.value(),
                                    csv_value(facility.name), figure(load.births),
                                    figure(answer.access.capacities[place]),
                                    figure(load.of_capacity), figure(answer.of_place[place])));
    }
    return table("what,id,name,births_per_year,capacity_births_per_year,of_capacity,score", lines,
                 [](const std::string& line) { return line; });
}

}  // namespace waybourne::server
