#include "maps-sample/generator/main_roads.hpp"

#include <utility>
#include <vector>

#include "maps-sample/generator/places.hpp"

namespace waybourne::sample {

namespace {

using namespace places;

using Bends = std::vector<Point>;

void draw_road(RoadMap& map, const Bends& bends, const RoadStyle& style, const std::string& name) {
    for (std::size_t i = 1; i < bends.size(); ++i) {
        const std::size_t from = map.node_at(bends[i - 1]);
        map.draw(from, map.node_at(bends[i]), style, name);
    }
}

std::size_t draw_crossing(RoadMap& map, std::pair<Point, Point> ends, Crossing crossing,
                          const std::pair<RoadStyle, RoadStyle>& styles, const std::string& name) {
    const std::size_t from = map.node_at(ends.first);
    return map.draw_across(from, map.node_at(ends.second), crossing, styles, name);
}

void draw_trunk_road(RoadMap& map) {
    const std::string name = "Ishuvel trunk road";
    const std::pair both{style::trunk, style::trunk};
    draw_road(map, {{0, 23}, ovritha, west_junction, middle_junction, sorvrith, valley_junction},
              style::trunk, name);
    map.add_tag(draw_crossing(map, {valley_junction, north_bank}, Crossing::bridge, both, name),
                {"bridge:name", "Tlamere bridge"});
    draw_road(map, {north_bank, {40.5, 57}, venzhoth}, style::trunk, name);
    map.add_tag(draw_crossing(map, {venzhoth, east_junction}, Crossing::bridge, both, name),
                {"bridge:name", "Long bridge"});
    draw_road(map, {east_junction, {61, 68}, ebruzhai, {90, 69}}, style::trunk, name);
}

void draw_western_roads(RoadMap& map) {
    draw_road(map, {middle_junction, issolvu, pellumvo, {10, 12}, {0, 11}}, style::secondary,
              "Pellumvo road");
    draw_road(map, {pellumvo, luzhenni}, style::tertiary_paved, "Luzhenni road");
    draw_road(map, {luzhenni, {30, 14}, issolvu}, style::tertiary_paved, "Orchard road");
    draw_road(map, {luzhenni, {36, 10}, south_junction}, style::tertiary, "Salt road");
    draw_road(map, {sorvrith, {45, 24}, south_junction}, style::secondary, "South road");
    draw_road(map, {south_junction, {45, 5}, {45, 0}}, style::secondary_gravel, "South road");
    draw_road(map, {west_junction, nolluvish, ford_junction, {30, 39}, valley_junction},
              style::primary, "Valley road");
    draw_road(map, {nolluvish, {5, 36}, {0, 35}}, style::tertiary, "Nolluvish west road");
}

void draw_hill_roads(RoadMap& map) {
    const std::pair paved{style::tertiary_paved, style::tertiary_paved};
    draw_crossing(map, {hill_junction, ford_junction}, Crossing::ford, paved, "Ford road");
    draw_road(map, {kezhiru, hill_junction}, style::tertiary_paved, "Ford road");
    draw_road(map, {kezhiru, ammovreth}, style::ridge_track, "Ridge track");
    draw_road(map, {ammovreth, {29, 66}}, style::unclassified, "Ammovreth road");
    draw_road(map, {{29, 66}, venzhoth}, style::tertiary_paved, "Ammovreth road");
    map.put_ford(
        map.draw(map.node_at(kezhiru), map.node_at(zhelappu), style::hill_track, "Zhelappu track"));
    draw_road(map, {venzhoth, {33, 73}, {23, 75}, {14, 76}}, style::tertiary, "Upland road");
    draw_road(map, {venzhoth, {41, 74}, {42, 80}}, style::secondary_gravel, "North road");
    draw_road(map, {north_bank, mirruzhe, {25, 53}}, style::tertiary, "Mirruzhe road");
    const std::pair tracks{style::track, style::track};
    draw_crossing(map, {mirruzhe, {30, 39}}, Crossing::ford, tracks, "Stone ford track");
}

void draw_eastern_roads(RoadMap& map) {
    draw_road(map, {tamvrelo, {64, 31.5}, druvaneth, {69, 46}, razhimol, east_junction},
              style::primary, "East bank road");
    draw_road(map, {druvaneth, {80, 30}, gremvolo}, style::secondary_gravel, "Gremvolo road");
    draw_road(map, {gremvolo, {77, 12}, quovreth}, style::tertiary, "Gremvolo road");
    draw_road(map, {gremvolo, {90, 19}}, style::tertiary, "Coast road");
    draw_road(map, {quovreth, {64.5, 18}, tamvrelo}, style::secondary_gravel, "Quovreth road");
    draw_road(map, {quovreth, {72, 4}, {73, 0}}, style::tertiary, "Quovreth road");
    draw_road(map, {druvaneth, shuvemra, {83, 58}, ebruzhai}, style::tertiary, "Shuvemra road");
    draw_road(map, {{61, 68}, thezhanna, {64, 80}}, style::tertiary, "Thezhanna road");
    draw_road(map, {razhimol, {69, 60}, ebruzhai}, style::unclassified, "Razhimol road");
}

/// Times of day in the district's zone; `interval` as OpenStreetMap has it for ferries.
void draw_ferries(RoadMap& map) {
    const std::size_t great = draw_crossing(map, {sorvrith, tamvrelo}, Crossing::ferry,
                                            {style::primary, style::primary}, "Ferry road");
    for (const Tag& tag : std::vector<Tag>{{"name", "Sorvrith ferry"},
                                           {"motor_vehicle", "yes"},
                                           {"foot", "yes"},
                                           {"opening_hours", "Mo-Su 06:00-18:00"},
                                           {"interval", "00:20"},
                                           {"duration", "00:06"}}) {
        map.add_tag(great, tag);
    }
    const std::size_t island = draw_crossing(map, {south_junction, uvrissa}, Crossing::ferry,
                                             {style::tertiary, style::track}, "Island road");
    for (const Tag& tag : std::vector<Tag>{{"name", "Island pontoon"},
                                           {"motor_vehicle", "yes"},
                                           {"foot", "yes"},
                                           {"opening_hours", "Mo-Sa 06:30-17:30; Su 08:00-16:00"},
                                           {"interval", "00:30"},
                                           {"duration", "00:10"}}) {
        map.add_tag(island, tag);
    }
}

}  // namespace

void draw_main_roads(RoadMap& map) {
    draw_trunk_road(map);
    draw_western_roads(map);
    draw_hill_roads(map);
    draw_eastern_roads(map);
    draw_ferries(map);
}

}  // namespace waybourne::sample
