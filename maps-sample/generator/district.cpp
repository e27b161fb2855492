#include "maps-sample/generator/district.hpp"

#include <vector>

#include "maps-sample/generator/boat_ways.hpp"
#include "maps-sample/generator/facilities.hpp"
#include "maps-sample/generator/json_text.hpp"
#include "maps-sample/generator/map_picture.hpp"
#include "maps-sample/generator/reports.hpp"
#include "maps-sample/generator/roads.hpp"
#include "maps-sample/generator/settlements.hpp"
#include "maps-sample/generator/vehicles.hpp"
#include "maps-sample/generator/write_osm.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::sample {

namespace {

std::string collection_of(const std::vector<Member>& before,
                          const std::vector<std::string>& features) {
    std::vector<Member> members{{"type", quoted("FeatureCollection")}};
    members.insert(members.end(), before.begin(), before.end());
    members.emplace_back("features", lines_of(features, 2));
    return block_of(members, 0) + "\n";
}

std::string id_of(const std::string& name) {
    std::string id = name;
    id.front() = static_cast<char>(id.front() - 'A' + 'a');
    return id;
}

std::string settlements_text(const std::vector<Settlement>& settlements) {
    std::vector<std::string> features;
    features.reserve(settlements.size());
    for (const Settlement& settlement : settlements) {
        features.push_back(object_of(
            {{"type", quoted("Feature")},
             {"id", quoted(id_of(settlement.name))},
             {"geometry", point_of(settlement.place)},
             {"properties",
              object_of({{"name", quoted(settlement.name)},
                         {"kind", quoted(settlement.kind)},
                         {"population", std::to_string(settlement.population)},
                         {"births_per_year", std::to_string(settlement.births_per_year())}})}}));
    }
    return collection_of({}, features);
}

std::string resource_text(const ResourcePlan& resource) {
    const auto text_or_nothing = [](const std::string& text) {
        return text.empty() ? "" : quoted(text);
    };
    return object_of(
        {{"kind", quoted(resource.kind)},
         {"hours", text_or_nothing(resource.hours)},
         {"on_call", text_or_nothing(resource.on_call)},
         {"call_in_minutes",
          resource.call_in_minutes == 0 ? "" : std::to_string(resource.call_in_minutes)}});
}

std::string service_text(const std::string& capability) {
    std::vector<std::string> needs;
    for (const std::string& resource : needs_of(capability)) {
        const int units = units_of(resource);
        needs.push_back(units == 1 ? quoted(resource)
                                   : object_of({{"resource", quoted(resource)},
                                                {"units", std::to_string(units)}}));
    }
    return object_of({{"needs", list_of(needs)}});
}

std::string facility_text(const FacilityPlan& plan) {
    std::vector<std::string> phones;
    for (const std::string& phone : plan.phones) {
        phones.push_back(quoted(phone));
    }
    std::vector<Member> resources;
    for (const ResourcePlan& resource : plan.resources) {
        resources.emplace_back(resource.name, resource_text(resource));
    }
    std::vector<Member> services;
    for (const std::string& capability : plan.capabilities) {
        services.emplace_back(capability, service_text(capability));
    }
    constexpr int one_week = 7 * 24 * 60;
    return block_of(
        {{"type", quoted("Feature")},
         {"id", quoted(plan.id)},
         {"geometry", point_of(plan.place)},
         {"properties", block_of({{"name", quoted(plan.name)},
                                  {"kind", quoted(plan.kind)},
                                  {"phones", list_of(phones)},
                                  {"time_zone", quoted("Etc/UTC")},
                                  {"hours", quoted(plan.hours)},
                                  {"hours_confirmed_at", quoted(minutes_before_now(one_week))},
                                  {"resources", block_of(resources, 8)},
                                  {"services", block_of(services, 8)}},
                                 6)}},
        4);
}

std::string facilities_text() {
    std::vector<std::string> features;
    for (const FacilityPlan& plan : facility_plans()) {
        features.push_back(facility_text(plan));
    }
    return collection_of({{"holidays", list_of({quoted("2026-06-21"), quoted("2026-12-21"),
                                                quoted("2027-06-21"), quoted("2027-12-21")})}},
                         features);
}

std::string district_text() {
    return block_of(
               {{"name", quoted("Oruvesh")},
                {"about", quoted("An invented district in the open ocean. No place, person or "
                                 "telephone number in it is real.")},
                {"time_zone", quoted("Etc/UTC")},
                {"now", quoted(sample_now)},
                {"times_move_with_the_clock", "true"},
                {"wet_season", object_of({{"from", quoted("11-01")}, {"until", quoted("04-30")}})},
                {"daylight", object_of({{"from", quoted("06:00")}, {"until", quoted("18:00")}})},
                {"files", object_of({{"roads", quoted("roads.osm")},
                                     {"facilities", quoted("facilities.geojson")},
                                     {"reports", quoted("reports.json")},
                                     {"settlements", quoted("settlements.geojson")},
                                     {"vehicles", quoted("vehicles.json")},
                                     {"boat_ways", quoted("boat_ways.json")}})}},
               0) +
           "\n";
}

std::string manifest_text(const std::map<std::string, std::string>& files) {
    std::vector<Member> entries;
    entries.reserve(files.size());
    for (const auto& [name, content] : files) {
        entries.emplace_back(name, object_of({{"bytes", std::to_string(content.size())},
                                              {"sha256", quoted(sha256(content))}}));
    }
    return block_of({{"files", block_of(entries, 2)}}, 0) + "\n";
}

}  // namespace

std::map<std::string, std::string> make_district() {
    Random random{district_seed};
    const std::vector<Settlement> settlements = scatter_settlements(random, settlement_count);
    std::map<std::string, std::string> files;
    const RoadMap roads = build_roads(settlements);
    files["roads.osm"] = to_osm(roads, settlements);
    files["map.svg"] = to_svg(roads, settlements);
    files["settlements.geojson"] = settlements_text(settlements);
    files["facilities.geojson"] = facilities_text();
    files["reports.json"] = reports_text();
    files["boat_ways.json"] = boat_ways_text();
    files["vehicles.json"] = vehicles_text();
    files["district.json"] = district_text();
    files["manifest.json"] = manifest_text(files);
    return files;
}

}  // namespace waybourne::sample
