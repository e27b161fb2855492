#include "maps-sample/generator/vehicles.hpp"

#include <vector>

#include "maps-sample/generator/json_text.hpp"

namespace waybourne::sample {

namespace {

using Words = std::vector<std::string>;

struct VehiclePlan {
    std::string id;
    std::string name;
    std::string base;
    /// What it is to people; `means` is what it is to the roads (routing/route.hpp).
    std::string kind;
    std::string means;
    Words terrain;
    int lying;
    int sitting;
    Words kit;
    Words escort_skills;
    std::string shift;
    int mobilisation_minutes;
};

Words all_roads() {
    return {"paved", "unpaved", "track", "ford_when_dry"};
}

Words roads() {
    return {"paved", "unpaved"};
}

std::vector<VehiclePlan> hospital_vehicles() {
    return {
        {"sorvrith-1",
         "Sorvrith ambulance 1",
         "sorvrith-hospital",
         "ambulance",
         "four_wheel_drive",
         all_roads(),
         1,
         2,
         {"oxygen", "iv_fluids", "uterotonics", "magnesium_sulfate", "newborn_resuscitation"},
         {"midwife"},
         "24/7",
         8},
        {"sorvrith-2",
         "Sorvrith ambulance 2",
         "sorvrith-hospital",
         "ambulance",
         "car",
         roads(),
         1,
         2,
         {"oxygen", "iv_fluids", "uterotonics"},
         {"nurse"},
         "Mo-Su 06:00-22:00",
         8},
        {"venzhoth-1",
         "Venzhoth ambulance",
         "venzhoth-hospital",
         "ambulance",
         "four_wheel_drive",
         all_roads(),
         1,
         2,
         {"oxygen", "iv_fluids", "uterotonics", "newborn_resuscitation"},
         {"midwife"},
         "24/7",
         10},
        {"pellumvo-1",
         "Pellumvo ambulance",
         "pellumvo-hospital",
         "ambulance",
         "car",
         roads(),
         1,
         1,
         {"oxygen", "iv_fluids"},
         {"nurse"},
         "24/7",
         12},
    };
}

std::vector<VehiclePlan> other_vehicles() {
    return {
        {"druvaneth-1",
         "Druvaneth ambulance",
         "druvaneth-health-centre",
         "ambulance",
         "four_wheel_drive",
         all_roads(),
         1,
         2,
         {"oxygen", "iv_fluids", "magnesium_sulfate", "uterotonics"},
         {"midwife"},
         "24/7",
         10},
        {"ammovreth-1",
         "Ammovreth motorcycle with side bed",
         "ammovreth-health-centre",
         "motorcycle_ambulance",
         "motorcycle",
         {"unpaved", "track", "path"},
         1,
         0,
         {"uterotonics"},
         {},
         "Mo-Su 06:00-18:00",
         5},
        {"quovreth-1",
         "Quovreth pick-up",
         "quovreth-health-centre",
         "pick_up",
         "four_wheel_drive",
         all_roads(),
         1,
         3,
         {"iv_fluids"},
         {},
         "Mo-Sa 07:00-19:00",
         20},
        {"uvrissa-1",
         "Uvrissa motor boat",
         "uvrissa-health-post",
         "boat",
         "boat",
         {"river"},
         1,
         3,
         {},
         {},
         "Mo-Su 06:00-18:00",
         10},
    };
}

std::vector<VehiclePlan> vehicle_plans() {
    std::vector<VehiclePlan> plans = hospital_vehicles();
    const std::vector<VehiclePlan> others = other_vehicles();
    plans.insert(plans.end(), others.begin(), others.end());
    return plans;
}

std::string quoted_list(const Words& words) {
    Words texts;
    for (const std::string& word : words) {
        texts.push_back(quoted(word));
    }
    return list_of(texts);
}

std::string to_text(const VehiclePlan& plan, std::size_t number) {
    return block_of({{"id", quoted(plan.id)},
                     {"name", quoted(plan.name)},
                     {"base", quoted(plan.base)},
                     {"kind", quoted(plan.kind)},
                     {"means", quoted(plan.means)},
                     {"terrain", quoted_list(plan.terrain)},
                     {"seats", object_of({{"lying", std::to_string(plan.lying)},
                                          {"sitting", std::to_string(plan.sitting)}})},
                     {"kit", quoted_list(plan.kit)},
                     {"escort_skills", quoted_list(plan.escort_skills)},
                     {"shift", quoted(plan.shift)},
                     {"mobilisation_minutes", std::to_string(plan.mobilisation_minutes)},
                     {"phones", list_of({quoted("+99900002" + std::to_string(101 + number))})}},
                    4);
}

}  // namespace

std::string vehicles_text() {
    Words vehicles;
    for (const VehiclePlan& plan : vehicle_plans()) {
        vehicles.push_back(to_text(plan, vehicles.size()));
    }
    return block_of({{"vehicles", lines_of(vehicles, 2)}}, 0) + "\n";
}

}  // namespace waybourne::sample
