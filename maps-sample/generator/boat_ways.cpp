#include "maps-sample/generator/boat_ways.hpp"

#include <utility>
#include <vector>

#include "maps-sample/generator/json_text.hpp"
#include "maps-sample/generator/places.hpp"
#include "maps-sample/generator/waters.hpp"

namespace waybourne::sample {

namespace {

using namespace places;

/// Beside the village, on a creek between the two arms that is too small for the map.
constexpr Point uvrissa_landing{56.3, 10.6};
constexpr Point creek_west{52.6, 12};
constexpr Point creek_east{60.2, 11};

std::vector<Member> position_of(Point place) {
    return {{"latitude", latitude_text(place)}, {"longitude", longitude_text(place)}};
}

std::string landing_text(const std::string& id, const std::string& name, Point place) {
    std::vector<Member> members{{"id", quoted(id)}, {"name", quoted(name)}};
    const std::vector<Member> position = position_of(place);
    members.insert(members.end(), position.begin(), position.end());
    return object_of(members);
}

std::vector<std::string> landings() {
    const Point south = banks_between(south_junction, uvrissa).first;
    const Point east = banks_between(uvrissa, quovreth).second;
    const auto [west, opposite] = banks_between(sorvrith, tamvrelo);
    return {landing_text("sorvrith", "Sorvrith landing", west),
            landing_text("tamvrelo", "Tamvrelo landing", opposite),
            landing_text("south-bank", "South bank landing", south),
            landing_text("uvrissa", "Uvrissa landing", uvrissa_landing),
            landing_text("quovreth-bank", "Quovreth bank landing", east)};
}

struct WayPlan {
    std::string from;
    std::string to;
    int minutes = 0;
    int minutes_back = 0;
    bool when_wet = true;
    Line through = {};
};

std::string to_text(const WayPlan& plan) {
    std::vector<std::string> through;
    for (const Point point : plan.through) {
        through.push_back(object_of(position_of(point)));
    }
    return object_of({{"from", quoted(plan.from)},
                      {"to", quoted(plan.to)},
                      {"minutes", std::to_string(plan.minutes)},
                      {"minutes_back", std::to_string(plan.minutes_back)},
                      {"hours", quoted("06:00-18:00")},
                      {"when_wet", plan.when_wet ? "" : "false"},
                      {"through", through.empty() ? "" : list_of(through)}});
}

std::vector<std::string> ways() {
    const std::vector<WayPlan> plans{
        {"uvrissa", "south-bank", 18, 18, true, {creek_west}},
        // down the creek, up the west arm and the river: about 26 km
        {"uvrissa",
         "sorvrith",
         90,
         65,
         true,
         {creek_west, {52.7, 15.5}, {53.3, 18}, {52, 22}, {53, 26}}},
        {"sorvrith", "tamvrelo", 5, 5},
        // the east arm runs too fast when it is high
        {"uvrissa", "quovreth-bank", 18, 18, false, {creek_east}},
    };
    std::vector<std::string> texts;
    texts.reserve(plans.size());
    for (const WayPlan& plan : plans) {
        texts.push_back(to_text(plan));
    }
    return texts;
}

}  // namespace

std::string boat_ways_text() {
    return block_of({{"landings", lines_of(landings(), 2)}, {"ways", lines_of(ways(), 2)}}, 0) +
           "\n";
}

}  // namespace waybourne::sample
