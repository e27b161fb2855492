#include "routing/boat_ways.hpp"

#include <algorithm>

#include "routing/network_builder.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

constexpr MeansSet boats_alone = MeansSet{}.with(Means::boat);

RoadAttributes of_class(RoadClass road_class) {
    RoadAttributes attributes;
    attributes.kind.road_class = road_class;
    return attributes;
}

/// The water's end of a landing stage.
NodeId add_landing(NetworkBuilder& builder, const Landing& landing) {
    const NodeId ashore = builder.add_node(landing.point);
    const NodeId afloat = builder.add_node(landing.point);
    builder.add_piece({.from = ashore,
                       .to = afloat,
                       .length = Metres{0},
                       .attributes = of_class(RoadClass::path),
                       .name = landing.name,
                       .road = {},
                       .shape = {},
                       .forward = boats_alone,
                       .backward = boats_alone,
                       .ferry = std::nullopt});
    return afloat;
}

void add_one_way(NetworkBuilder& builder, const BoatWay& way, Seconds crossing,
                 std::pair<NodeId, NodeId> ends, std::vector<GeoPoint> through) {
    const std::uint32_t ferry = builder.add_ferry(
        {.crossing = crossing,
         .timetable = way.hours ? *way.hours : parse_timetable("24/7", "UTC").timetable,
         .assumed_wait = 0s,
         .sails_when_wet = way.is_open_when_wet});
    builder.add_piece({.from = ends.first,
                       .to = ends.second,
                       .length = std::nullopt,
                       .attributes = of_class(RoadClass::ferry),
                       .name = way.name,
                       .road = {},
                       .shape = std::move(through),
                       .forward = boats_alone,
                       .backward = MeansSet{},
                       .ferry = ferry});
}

}  // namespace

RoadNetwork network_of(const BoatWays& boats) {
    NetworkBuilder builder;
    std::vector<NodeId> afloat;
    for (const Landing& landing : boats.landings) {
        afloat.push_back(add_landing(builder, landing));
    }
    for (const BoatWay& way : boats.ways) {
        if (std::max(way.from, way.to) >= afloat.size()) {
            throw InputError("a boat way begins or ends at a landing that does not exist");
        }
        const std::pair ends{afloat[way.from], afloat[way.to]};
        add_one_way(builder, way, way.there, ends, way.through);
        add_one_way(builder, way, way.back, {ends.second, ends.first},
                    {way.through.rbegin(), way.through.rend()});
    }
    return builder.build();
}

}  // namespace waybourne::routing
