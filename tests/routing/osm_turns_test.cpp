#include <doctest/doctest.h>

#include <filesystem>
#include <iostream>
#include <osmium/io/pbf_input.hpp>
#include <osmium/io/reader.hpp>

#include "routing/osm_import.hpp"
#include "tests/routing/map_fixture.hpp"

// What the tags and roles mean: the page Relation:restriction of the OpenStreetMap wiki, read in
// stored copies; the vehicle words of Key:access from memory.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

/// A crossing at node 2 with a road in every direction; `north` goes on as `top` from node 4, and
/// `lane` is one-way from node 4 to node 3. `avenue` runs through node 2 without a break.
std::string map_with(const std::string& relations) {
    return R"(<?xml version='1.0' encoding='UTF-8'?>
<osm version="0.6">
  <node id="1" lat="0" lon="0"/>
  <node id="2" lat="0" lon="0.01"/>
  <node id="3" lat="0" lon="0.02"/>
  <node id="4" lat="0.01" lon="0.01"/>
  <node id="5" lat="-0.01" lon="0.01"/>
  <node id="6" lat="0.02" lon="0.01"/>
  <node id="7" lat="0.01" lon="0"/>
  <node id="8" lat="-0.01" lon="0.02"/>
  <node id="9" lat="0.03" lon="0.01"><tag k="barrier" v="bollard"/></node>
  <node id="10" lat="0.04" lon="0.01"/>
  <way id="100"><nd ref="1"/><nd ref="2"/><tag k="name" v="west"/><tag k="highway" v="unclassified"/></way>
  <way id="101"><nd ref="2"/><nd ref="4"/><tag k="name" v="north"/><tag k="highway" v="unclassified"/></way>
  <way id="102"><nd ref="2"/><nd ref="3"/><tag k="name" v="east"/><tag k="highway" v="unclassified"/></way>
  <way id="103"><nd ref="5"/><nd ref="2"/><tag k="name" v="south"/><tag k="highway" v="unclassified"/></way>
  <way id="104"><nd ref="4"/><nd ref="6"/><nd ref="9"/><tag k="name" v="top"/><tag k="highway" v="unclassified"/></way>
  <way id="105"><nd ref="4"/><nd ref="3"/><tag k="name" v="lane"/><tag k="highway" v="unclassified"/><tag k="oneway" v="yes"/></way>
  <way id="106"><nd ref="7"/><nd ref="2"/><nd ref="8"/><tag k="name" v="avenue"/><tag k="highway" v="unclassified"/></way>
  <way id="107"><nd ref="9"/><nd ref="10"/><tag k="name" v="beyond"/><tag k="highway" v="unclassified"/></way>
  <way id="108"><nd ref="1"/><nd ref="7"/><tag k="name" v="site"/><tag k="highway" v="construction"/></way>
)" + relations +
           "</osm>\n";
}

std::string way(int id, const std::string& role) {
    return "<member type=\"way\" ref=\"" + std::to_string(id) + "\" role=\"" + role + "\"/>";
}
std::string node(int id) {
    return "<member type=\"node\" ref=\"" + std::to_string(id) + "\" role=\"via\"/>";
}
std::string tag(const std::string& key, const std::string& value) {
    return "<tag k=\"" + key + "\" v=\"" + value + "\"/>";
}
std::string kind(const std::string& value) {
    return tag("restriction", value);
}

std::string relation(const std::string& members, const std::string& tags, int id = 1,
                     const std::string& type = "restriction") {
    return "<relation id=\"" + std::to_string(id) + "\">" + members + tag("type", type) + tags +
           "</relation>\n";
}

ImportedMap import(const std::string& relations) {
    return import_osm_text(map_with(relations), "osm", speed_table());
}

/// From the west to the north at the crossing.
const std::string west_north = way(100, "from") + node(2) + way(101, "to");

/// Whether one may drive along the roads of these names, one directly after the other, having
/// started on the first.
bool may_follow(const RoadNetwork& network, NodeId node, const std::vector<std::string>& roads,
                Means means) {
    if (roads.empty()) {
        return true;
    }
    for (ArcId arc = network.first_arc(node); arc < network.end_arc(node); ++arc.value) {
        if (network.means(arc).has(means) && network.name_of(network.piece(arc)) == roads.front() &&
            may_follow(network, network.head(arc), {roads.begin() + 1, roads.end()}, means)) {
            return true;
        }
    }
    return false;
}

bool may_drive(const ImportedMap& map, const std::vector<std::string>& roads,
               Means means = Means::car) {
    for (std::uint32_t number = 0; number < map.network.node_count(); ++number) {
        const NodeId node{number};
        if (map.network.original(node) == node && may_follow(map.network, node, roads, means)) {
            return true;
        }
    }
    return false;
}

/// From the end of the western road to the crossing, back, and there once more: three times along
/// it and then to the east is possible only for those who turn round at the crossing.
const std::vector<std::string> turning_back{"west", "west", "west", "east"};

/// The only reason for which the only relation was left out.
std::string reason(const ImportedMap& map) {
    CHECK(map.report.turn_relations == 1);
    CHECK(map.report.turn_restrictions == 0);
    CHECK(map.network.arrays().node_copies.empty());
    std::string found;
    for (const ImportRemark& remark : map.report.left_out) {
        if (remark.reason.starts_with("relation:")) {
            CHECK(remark.count == 1);
            CHECK(remark.examples == std::vector<std::int64_t>{1});
            found += remark.reason;
        }
    }
    return found;
}

}  // namespace

TEST_CASE("A turn that the map forbids cannot be driven, all others can") {
    const ImportedMap map = import(relation(west_north, kind("no_left_turn")));
    CHECK(map.report.turn_relations == 1);
    CHECK(map.report.turn_restrictions == 1);
    CHECK_FALSE(may_drive(map, {"west", "north"}));
    CHECK(may_drive(map, {"west", "east"}));
    CHECK_FALSE(may_drive(map, {"west", "west", "west", "north"}));
    CHECK(may_drive(map, turning_back));
    CHECK(may_drive(map, {"south", "north"}));
    CHECK(may_drive(map, {"north", "west"}));
    CHECK(may_drive(map, {"west", "north"}, Means::on_foot));
}

TEST_CASE("Each word for a forbidden turn forbids") {
    for (const char* word :
         {"no_left_turn", "no_right_turn", "no_straight_on", "no_u_turn", "no_entry", "no_exit"}) {
        CAPTURE(word);
        CHECK_FALSE(may_drive(import(relation(west_north, kind(word))), {"west", "north"}));
    }
}

TEST_CASE("Each word for the only turn forbids all others, and turning back") {
    for (const char* word :
         {"only_left_turn", "only_right_turn", "only_straight_on", "only_u_turn"}) {
        CAPTURE(word);
        const ImportedMap map = import(relation(west_north, kind(word)));
        CHECK(may_drive(map, {"west", "north", "top"}));
        CHECK_FALSE(may_drive(map, {"west", "east"}));
        CHECK_FALSE(may_drive(map, {"west", "avenue"}));
        CHECK_FALSE(may_drive(map, {"west", "west", "west", "north"}));
        CHECK(may_drive(map, {"south", "east"}));
        CHECK(may_drive(map, {"west", "east"}, Means::on_foot));
    }
}

TEST_CASE("Turning round is forbidden where the map says so, and only there") {
    const ImportedMap map =
        import(relation(way(100, "from") + node(2) + way(100, "to"), kind("no_u_turn")));
    CHECK(map.report.turn_restrictions == 1);
    CHECK_FALSE(may_drive(map, turning_back));
    CHECK(may_drive(map, {"east", "east", "east", "north"}));
    CHECK(may_drive(map, {"west", "north"}));
}

TEST_CASE("Over a road: forbidden is the whole way, not a part of it") {
    const std::string members = way(100, "from") + way(101, "via") + way(105, "to");
    SUBCASE("no") {
        const ImportedMap map = import(relation(members, kind("no_u_turn")));
        CHECK(map.report.turn_restrictions == 1);
        CHECK_FALSE(may_drive(map, {"west", "north", "lane"}));
        CHECK(may_drive(map, {"west", "north", "top"}));
        CHECK(may_drive(map, {"south", "north", "lane"}));
        CHECK(may_drive(map, {"north", "lane"}));
    }
    SUBCASE("only") {
        const ImportedMap map = import(relation(members, kind("only_straight_on")));
        CHECK(may_drive(map, {"west", "north", "lane"}));
        CHECK_FALSE(may_drive(map, {"west", "north", "top"}));
        CHECK_FALSE(may_drive(map, {"west", "east"}));
        CHECK(may_drive(map, {"south", "north", "top"}));
    }
    SUBCASE("over two roads, in whichever order they are listed") {
        for (const bool is_sorted : {true, false}) {
            const std::string vias =
                is_sorted ? way(101, "via") + way(105, "via") : way(105, "via") + way(101, "via");
            const ImportedMap map =
                import(relation(way(100, "from") + vias + way(102, "to"), kind("no_straight_on")));
            CHECK(map.report.turn_restrictions == 1);
            CHECK_FALSE(may_drive(map, {"west", "north", "lane", "east"}));
            CHECK(may_drive(map, {"south", "north", "lane", "east"}));
            CHECK(may_drive(map, {"north", "lane", "east"}));
        }
    }
}

TEST_CASE("No entry from several roads, no exit to several") {
    const ImportedMap entry = import(
        relation(way(100, "from") + way(103, "from") + node(2) + way(101, "to"), kind("no_entry")));
    CHECK(entry.report.turn_restrictions == 1);
    CHECK_FALSE(may_drive(entry, {"west", "north"}));
    CHECK_FALSE(may_drive(entry, {"south", "north"}));
    CHECK(may_drive(entry, {"east", "north"}));
    const ImportedMap exit = import(
        relation(way(100, "from") + node(2) + way(101, "to") + way(102, "to"), kind("no_exit")));
    CHECK_FALSE(may_drive(exit, {"west", "north"}));
    CHECK_FALSE(may_drive(exit, {"west", "east"}));
    CHECK(may_drive(exit, {"west", "south"}));
    CHECK(reason(import(relation(way(100, "from") + way(103, "from") + node(2) + way(101, "to"),
                                 kind("no_left_turn")))) ==
          "relation: a turn restriction with several ways to come from or to go to");
}

TEST_CASE("A restriction binds those vehicles that it names") {
    const auto who = [](const std::string& tags, const std::string& type = "restriction") {
        const ImportedMap map = import(relation(west_north, tags, 1, type));
        std::string bound;
        for (const auto& [means, name] :
             {std::pair{Means::on_foot, "foot "}, std::pair{Means::motorcycle, "motorcycle "},
              std::pair{Means::car, "car "}, std::pair{Means::four_wheel_drive, "4wd "}}) {
            bound += may_drive(map, {"west", "north"}, means) ? "" : name;
        }
        return bound;
    };
    CHECK(who(kind("no_left_turn")) == "motorcycle car 4wd ");
    CHECK(who(tag("restriction:motorcar", "no_left_turn")) == "car 4wd ");
    CHECK(who(tag("restriction:motorcycle", "no_left_turn")) == "motorcycle ");
    CHECK(who(tag("restriction:motor_vehicle", "no_left_turn")) == "motorcycle car 4wd ");
    CHECK(who(tag("restriction:foot", "no_left_turn")) == "foot ");
    CHECK(who(kind("no_left_turn"), "restriction:motorcar") == "car 4wd ");
    CHECK(who(kind("no_left_turn") + tag("except", "motorcar")) == "motorcycle ");
    CHECK(who(kind("no_left_turn") + tag("except", "bicycle; motorcycle;psv")) == "car 4wd ");
    // the particular word counts before the general one: cars must turn left, others may not
    CHECK(who(kind("no_left_turn") + tag("restriction:motorcar", "only_left_turn")) ==
          "motorcycle ");
}

TEST_CASE("A restriction that concerns nobody of ours is counted as that") {
    const std::string none = "relation: a turn restriction that concerns none of our vehicles";
    CHECK(reason(import(relation(west_north, tag("restriction:hgv", "no_left_turn")))) == none);
    CHECK(reason(import(relation(west_north, tag("restriction:bus", "no_left_turn")))) == none);
    // every trip here is an emergency
    CHECK(reason(import(relation(west_north,
                                 kind("no_left_turn") + tag("except", "emergency;psv")))) == none);
    CHECK(reason(import(relation(west_north, kind("no_left_turn") + tag("except", "vehicle")))) ==
          none);
}

TEST_CASE("What holds at times or under conditions only is not applied, and counted") {
    CHECK(reason(import(relation(
              west_north, tag("restriction:conditional", "no_left_turn @ (Mo-Fr 07:00-09:00)")))) ==
          "relation: a turn restriction under conditions only, ignored");
    CHECK(reason(import(relation(west_north, kind("no_left_turn") + tag("hour_on", "07:00") +
                                                 tag("hour_off", "09:00")))) ==
          "relation: a turn restriction at certain times only, ignored");
    const ImportedMap both =
        import(relation(west_north, kind("no_left_turn") + tag("restriction:hgv:conditional",
                                                               "no_right_turn @ (07:00-09:00)")));
    CHECK(both.report.turn_restrictions == 1);
    CHECK(times(both.report.assumed, "relation: a condition beside a turn restriction, ignored") ==
          1);
}

TEST_CASE("A restriction that is broken is left out with its reason, never guessed") {
    const auto with = [](const std::string& members) {
        return reason(import(relation(members, kind("no_left_turn"))));
    };
    CHECK(with(node(2) + way(101, "to")) ==
          "relation: a turn restriction without a way to come from or to go to");
    CHECK(with(way(100, "from") + way(101, "to")) ==
          "relation: a turn restriction that is not over one node or over ways");
    CHECK(with(way(100, "from") + node(2) + node(4) + way(101, "to")) ==
          "relation: a turn restriction that is not over one node or over ways");
    const std::string no_road =
        "relation: a turn restriction with a way that is no road of this map";
    CHECK(with(way(999, "from") + node(2) + way(101, "to")) == no_road);
    CHECK(with(way(108, "from") + node(2) + way(101, "to")) == no_road);
    const std::string apart = "relation: a turn restriction whose members do not meet";
    CHECK(with(way(100, "from") + node(4) + way(101, "to")) == apart);
    CHECK(with(way(100, "from") + node(77) + way(101, "to")) == apart);
    CHECK(with(way(100, "from") + way(104, "via") + way(105, "to")) == apart);
    // along the avenue one comes to the crossing from both sides
    CHECK(with(way(106, "from") + node(2) + way(101, "to")) ==
          "relation: a turn restriction that can be read in more than one way");
    CHECK(with(way(102, "from") + node(3) + way(105, "to")) ==
          "relation: a turn restriction where nobody whom it binds could go");
    CHECK(with(way(104, "from") + node(9) + way(107, "to")) ==
          "relation: a turn restriction at a barrier");
    CHECK(reason(import(relation(west_north, kind("no_right_turn_on_red")))) ==
          "relation: a turn restriction of a kind that is not known");
    CHECK(reason(import(relation(west_north, ""))) ==
          "relation: a turn restriction that does not say which");
}

TEST_CASE("A road that can be entered from one side only leaves no doubt at a crossing") {
    // from the lane, one-way, though the relation's node is where it ends
    const ImportedMap map =
        import(relation(way(105, "from") + node(3) + way(102, "to"), kind("no_right_turn")));
    CHECK(map.report.turn_restrictions == 1);
    CHECK_FALSE(may_drive(map, {"lane", "east"}));
}

TEST_CASE("Real maps: every restriction is either kept or left out with its reason") {
    const std::optional<std::string> data = outside_data();
    if (!data) {
        return;
    }
    for (const char* file : {"campo-grande.osm.pbf", "liechtenstein.osm.pbf", "fiji-ferry.osm.pbf",
                             "andorra.osm.pbf"}) {
        CAPTURE(file);
        const std::string path = *data + "/roads/" + file;
        std::uint64_t relations = 0;
        osmium::io::Reader reader{path, osmium::osm_entity_bits::relation};
        while (const osmium::memory::Buffer buffer = reader.read()) {
            for (const auto& one : buffer.select<osmium::Relation>()) {
                relations += one.tags().has_tag("type", "restriction") ? 1U : 0U;
            }
        }
        reader.close();
        const ImportedMap map = import_osm(path, speed_table());
        std::uint64_t left_out = 0;
        for (const ImportRemark& remark : map.report.left_out) {
            left_out += remark.reason.starts_with("relation: a turn") ? remark.count : 0;
        }
        CHECK(map.report.turn_relations == relations);
        CHECK(map.report.turn_restrictions + left_out == relations);
        std::cout << file << ": " << relations << " turn restrictions, "
                  << map.report.turn_restrictions << " kept, "
                  << map.network.arrays().node_copies.size() << " nodes copied of "
                  << map.network.node_count() << '\n';
        // SOURCES.md beside the data names Liechtenstein for its turn restrictions
        if (std::string_view{file} == "liechtenstein.osm.pbf") {
            CHECK(map.report.turn_restrictions > 0);
        }
        CHECK(map.network.arrays().node_copies.size() <= map.network.node_count() / 50);
    }
}
