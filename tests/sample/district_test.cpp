/// What the invented district promises, apart from its stories.

#include "maps-sample/generator/district.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>
#include <string>

#include "maps-sample/generator/roads.hpp"
#include "maps-sample/generator/settlements.hpp"
#include "maps-sample/generator/waters.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::sample {

namespace {

using nlohmann::json;

std::string read(const std::string& name) {
    std::ifstream file{std::string{WAYBOURNE_SOURCE_DIR} + "/maps-sample/" + name,
                       std::ios::binary};
    REQUIRE_MESSAGE(file, name);
    std::ostringstream content;
    content << file.rdbuf();
    return content.str();
}

const std::map<std::string, std::string>& made() {
    static const std::map<std::string, std::string> files = make_district();
    return files;
}

const RoadMap& roads() {
    static const RoadMap map = [] {
        Random random{district_seed};
        return build_roads(scatter_settlements(random, settlement_count));
    }();
    return map;
}

std::vector<Settlement> settlements() {
    Random random{district_seed};
    return scatter_settlements(random, settlement_count);
}

bool crosses_water_on_purpose(const Road& road) {
    return road.is_ferry() || std::any_of(road.tags.begin(), road.tags.end(), [](const Tag& tag) {
               return tag.first == "bridge" || tag.first == "ford";
           });
}

struct Piece {
    std::size_t road;
    std::size_t from;
    std::size_t to;
};

std::vector<Piece> pieces() {
    std::vector<Piece> all;
    for (std::size_t road = 0; road < roads().roads().size(); ++road) {
        const std::vector<std::size_t>& nodes = roads().roads()[road].nodes;
        for (std::size_t i = 1; i < nodes.size(); ++i) {
            all.push_back({road, nodes[i - 1], nodes[i]});
        }
    }
    return all;
}

/// Roads that cross without a junction: places where a driver could not turn off.
std::size_t crossings_without_junction() {
    const std::vector<Piece> all = pieces();
    const std::vector<Point>& nodes = roads().nodes();
    std::size_t found = 0;
    for (std::size_t i = 0; i < all.size(); ++i) {
        for (std::size_t j = i + 1; j < all.size(); ++j) {
            const Piece& a = all[i];
            const Piece& b = all[j];
            const bool share_a_node =
                a.from == b.from || a.from == b.to || a.to == b.from || a.to == b.to;
            if (!share_a_node &&
                crossing_share(nodes[a.from], nodes[a.to], nodes[b.from], nodes[b.to]) >= 0) {
                ++found;
            }
        }
    }
    return found;
}

}  // namespace

// Source: this project's own promise for its sample; common practice, no source.
TEST_CASE("The files of the district are what its program makes, byte for byte") {
    for (const auto& file : made()) {
        CAPTURE(file.first);
        CHECK(read(file.first) == file.second);
    }
}

TEST_CASE("The manifest has the size and the SHA-256 of every other file") {
    const json manifest = json::parse(read("manifest.json"));
    CHECK(manifest["files"].size() == made().size() - 1);
    for (const auto& file : manifest["files"].items()) {
        CAPTURE(file.key());
        const std::string content = read(file.key());
        CHECK(file.value()["bytes"] == content.size());
        CHECK(file.value()["sha256"] == sha256(content));
    }
    const json district = json::parse(read("district.json"));
    for (const auto& file : district["files"].items()) {
        CAPTURE(file.key());
        CHECK(manifest["files"].contains(file.value().get<std::string>()));
    }
}

TEST_CASE("Women live in 150 settlements and more, and each has births in a year") {
    const json features = json::parse(read("settlements.geojson"))["features"];
    CHECK(features.size() >= 150);
    std::set<std::string> names;
    for (const json& feature : features) {
        names.insert(feature["properties"]["name"].get<std::string>());
        CHECK(feature["properties"]["births_per_year"].get<int>() > 0);
    }
    CHECK(names.size() == features.size());
}

TEST_CASE("There are twenty facilities of four kinds and eight vehicles") {
    std::map<std::string, int> kinds;
    const json facilities = json::parse(read("facilities.geojson"));
    for (const json& feature : facilities["features"]) {
        ++kinds[feature["properties"]["kind"].get<std::string>()];
    }
    CHECK(kinds == std::map<std::string, int>{
                       {"hospital", 3}, {"health_centre", 6}, {"clinic", 6}, {"health_post", 5}});
    CHECK(json::parse(read("vehicles.json"))["vehicles"].size() == 8);
}

TEST_CASE("Nobody's telephone rings: every number begins with +999, which no country has") {
    // ITU-T E.164 list of assigned country codes: 999 is not assigned (from memory).
    for (const char* name : {"facilities.geojson", "vehicles.json"}) {
        const std::string content = read(name);
        std::size_t numbers = 0;
        for (std::size_t at = content.find("\"+"); at != std::string::npos;
             at = content.find("\"+", at + 1)) {
            CHECK(content.substr(at, 5) == "\"+999");
            ++numbers;
        }
        CHECK(numbers >= 8);
    }
}

TEST_CASE("The district lies in the open ocean, where no land is") {
    // The nearest land to 0 degrees north, 0 degrees east is the coast of Ghana, more than 500 km
    // away (from memory of any atlas): 4.7 degrees north.
    for (const Point corner : {Point{0, 0}, Point{sheet_width_km, sheet_height_km}}) {
        const double latitude = std::stod(latitude_text(corner));
        const double longitude = std::stod(longitude_text(corner));
        CHECK(latitude >= -0.6);
        CHECK(latitude <= 0.2);
        CHECK(longitude >= -0.5);
        CHECK(longitude <= 0.4);
    }
}

TEST_CASE("The road file is small and in the order that readers need: nodes, then ways") {
    // OpenStreetMap XML 0.6, wiki.openstreetmap.org/wiki/OSM_XML.
    const std::string content = read("roads.osm");
    CHECK(content.size() < 1'500'000);
    CHECK(content.rfind("<node ") < content.find("<way "));
    CHECK(content.find("id=\"-") == std::string::npos);
    CHECK(content.find("id=\"0\"") == std::string::npos);
}

TEST_CASE("The roads have 2,500 nodes and more, and every class from trunk to path") {
    CHECK(roads().nodes().size() >= 2500);
    std::set<std::string> classes;
    for (const Road& road : roads().roads()) {
        classes.insert(road.style.highway);
    }
    for (const char* name : {"trunk", "primary", "secondary", "tertiary", "unclassified",
                             "residential", "track", "path"}) {
        CAPTURE(name);
        CHECK(classes.contains(name));
    }
}

TEST_CASE("Roads meet at junctions, and get wet only at bridges, fords and ferries") {
    CHECK(crossings_without_junction() == 0);
    for (const Road& road : roads().roads()) {
        if (crosses_water_on_purpose(road)) {
            continue;
        }
        Line line;
        for (const std::size_t node : road.nodes) {
            line.push_back(roads().nodes()[node]);
        }
        CAPTURE(road.name);
        CHECK_FALSE(touches_water(line));
    }
}

TEST_CASE("In the dry every village can be reached; the wet cuts some off, but no hospital") {
    const std::size_t town = 0;  // Sorvrith comes first
    RoadMap map = roads();
    const std::vector<Settlement> all = settlements();
    const std::vector<double> dry = map.distances(map.node_at(all[town].place), false);
    const std::vector<double> wet = map.distances(map.node_at(all[town].place), true);
    std::vector<std::string> cut_off;
    for (const Settlement& settlement : all) {
        const std::size_t node = map.node_at(settlement.place);
        CAPTURE(settlement.name);
        CHECK(dry[node] < no_way_km);
        CHECK(wet[node] >= dry[node]);
        if (wet[node] >= no_way_km) {
            cut_off.push_back(settlement.name);
        }
    }
    CHECK(cut_off.size() >= 10);
    CHECK(cut_off.size() <= 40);
    for (const char* hospital : {"Venzhoth", "Pellumvo"}) {
        CHECK(std::find(cut_off.begin(), cut_off.end(), hospital) == cut_off.end());
    }
}

TEST_CASE("Both ferries have a timetable, and there are two bridges over the rivers") {
    std::size_t ferries = 0;
    std::size_t bridges = 0;
    for (const Road& road : roads().roads()) {
        const std::map<std::string, std::string> tags{road.tags.begin(), road.tags.end()};
        if (road.is_ferry()) {
            ++ferries;
            CHECK(tags.at("route") == "ferry");
            CHECK(tags.contains("opening_hours"));
            CHECK(tags.contains("interval"));
            CHECK(tags.contains("duration"));
        }
        bridges += tags.contains("bridge") ? 1 : 0;
    }
    CHECK(ferries == 2);
    CHECK(bridges == 2);
}

}  // namespace waybourne::sample
