#include "maps-sample/generator/facilities.hpp"

#include <algorithm>
#include <map>
#include <stdexcept>

#include "maps-sample/generator/settlements.hpp"

namespace waybourne::sample {

namespace {

using Words = std::vector<std::string>;

struct CapabilityPlan {
    std::string name;
    Words needs;
    /// From which kind of place up it is offered: 0 health post, 1 clinic, 2 health centre, 3
    /// hospital, 4 the hospital of the district town only.
    int from_level;
};

/// In the order of triage/capability.hpp. What "ready" means for each follows clinical.md d.1.
const std::vector<CapabilityPlan>& capability_plans() {
    static const std::vector<CapabilityPlan> plans = {
        {"parenteral_antibiotics", {"midwife", "antibiotics"}, 2},
        {"uterotonics", {"midwife", "oxytocin"}, 1},
        {"magnesium_sulfate", {"midwife", "magnesium"}, 2},
        {"manual_placenta_removal", {"clinician", "drip_bags"}, 2},
        {"uterine_evacuation", {"clinician", "vacuum_set"}, 2},
        {"assisted_vaginal_delivery", {"midwife", "vacuum_cup"}, 2},
        {"newborn_resuscitation", {"midwife", "newborn_bag"}, 1},
        {"operative_delivery", {"surgeon", "anaesthetist", "theatre", "power"}, 3},
        {"blood_transfusion", {"laboratory_technician", "blood", "power"}, 3},
        {"oral_antihypertensive", {"midwife", "methyldopa"}, 0},
        {"rapid_oral_antihypertensive", {"midwife", "nifedipine"}, 2},
        {"parenteral_antihypertensive", {"clinician", "hydralazine"}, 2},
        {"iv_fluids", {"midwife", "drip_bags"}, 1},
        {"tranexamic_acid", {"midwife", "tranexamic_ampoules"}, 2},
        {"antenatal_corticosteroid", {"midwife", "dexamethasone"}, 2},
        {"oral_anti_infectives", {"midwife", "tablets"}, 0},
        {"antimalarial_parenteral", {"midwife", "artesunate"}, 2},
        {"oxygen", {"midwife", "oxygen_source"}, 2},
        {"vaginal_tear_repair", {"midwife", "sutures"}, 2},
        {"uterine_tamponade", {"clinician", "balloon_kit"}, 3},
        {"obstetric_laparotomy", {"surgeon", "anaesthetist", "theatre", "power"}, 3},
        {"fetal_monitoring", {"midwife", "fetal_doppler"}, 2},
        {"ultrasound", {"clinician", "ultrasound_machine", "power"}, 3},
        {"laboratory", {"laboratory_technician", "reagents"}, 2},
        {"skilled_birth", {"midwife"}, 2},
        {"preterm_newborn_care", {"newborn_nurse", "warm_room"}, 3},
        {"anticoagulation", {"clinician", "heparin"}, 4},
        {"insulin_therapy", {"clinician", "insulin"}, 4},
        {"critical_care", {"clinician", "high_care_bed"}, 4},
        {"mental_health_emergency", {"counsellor", "quiet_room"}, 4},
    };
    return plans;
}

/// Everything not named here is stock.
std::string kind_of_resource(const std::string& name) {
    static const std::map<std::string, std::string> kinds = {
        {"midwife", "staff"},
        {"clinician", "staff"},
        {"surgeon", "staff"},
        {"anaesthetist", "staff"},
        {"laboratory_technician", "staff"},
        {"newborn_nurse", "staff"},
        {"counsellor", "staff"},
        {"blood", "blood"},
        {"power", "power"},
        {"oxygen_source", "power"},
        {"theatre", "space"},
        {"warm_room", "space"},
        {"high_care_bed", "space"},
        {"quiet_room", "space"},
        {"vacuum_set", "equipment"},
        {"vacuum_cup", "equipment"},
        {"newborn_bag", "equipment"},
        {"fetal_doppler", "equipment"},
        {"ultrasound_machine", "equipment"},
    };
    const auto found = kinds.find(name);
    return found == kinds.end() ? "stock" : found->second;
}

/// Hours of one resource that are not those of the place.
struct Roster {
    std::string hours;
    std::string on_call;
    int call_in_minutes = 0;
};
using Rosters = std::map<std::string, Roster>;

Point place_of(const std::string& settlement) {
    for (const Settlement& named : named_settlements()) {
        if (named.name == settlement) {
            return named.place;
        }
    }
    throw std::logic_error("no settlement named " + settlement);
}

FacilityPlan make_facility(const std::string& settlement, int level, const std::string& hours,
                           const Rosters& rosters) {
    static const std::vector<std::pair<std::string, std::string>> kinds = {
        {"health_post", "health post"},
        {"clinic", "clinic"},
        {"health_centre", "health centre"},
        {"hospital", "hospital"},
        {"hospital", "district hospital"}};
    const auto& [kind, word] = kinds[static_cast<std::size_t>(level)];
    FacilityPlan plan;
    plan.id = settlement + "-" + kind;
    std::transform(plan.id.begin(), plan.id.end(), plan.id.begin(), [](char letter) {
        const bool is_capital = letter >= 'A' && letter <= 'Z';
        return letter == '_' ? '-' : static_cast<char>(is_capital ? letter - 'A' + 'a' : letter);
    });
    plan.name = settlement + " " + word;
    plan.kind = kind;
    // Five metres from the middle of the place.
    plan.place = place_of(settlement) + Point{0.004, -0.003};
    plan.hours = hours;
    for (const CapabilityPlan& capability : capability_plans()) {
        if (capability.from_level > level) {
            continue;
        }
        plan.capabilities.push_back(capability.name);
        for (const std::string& need : capability.needs) {
            const bool is_listed =
                std::any_of(plan.resources.begin(), plan.resources.end(),
                            [&](const ResourcePlan& listed) { return listed.name == need; });
            if (!is_listed) {
                const auto found = rosters.find(need);
                const Roster roster = found == rosters.end() ? Roster{} : found->second;
                plan.resources.push_back({need, kind_of_resource(need), roster.hours,
                                          roster.on_call, roster.call_in_minutes});
            }
        }
    }
    return plan;
}

std::vector<FacilityPlan> make_facilities() {
    const std::string always = "24/7";
    const std::string day = "Mo-Su 07:00-19:00";
    const std::string office = "Mo-Fr 07:30-16:30; Sa 08:00-12:00; PH off";
    const std::string short_day = "Mo-Fr 08:00-15:00; PH off";
    const Rosters called_at_night = {{"surgeon", {day, always, 30}},
                                     {"anaesthetist", {day, always, 30}},
                                     {"laboratory_technician", {day, always, 20}}};
    const Rosters by_day_only = {{"surgeon", {day, "", 0}}, {"anaesthetist", {day, "", 0}}};
    const Rosters laboratory_called = {
        {"laboratory_technician", {"Mo-Fr 07:00-17:00", always, 20}}};
    const Rosters laboratory_by_day = {{"laboratory_technician", {"Mo-Fr 07:00-17:00", "", 0}}};
    std::vector<FacilityPlan> plans = {
        make_facility("Sorvrith", 4, always, {}),
        make_facility("Venzhoth", 3, always, called_at_night),
        make_facility("Pellumvo", 3, always, by_day_only),
        make_facility("Druvaneth", 2, always, laboratory_called),
        make_facility("Ammovreth", 2, always, laboratory_by_day),
        make_facility("Issolvu", 2, always, laboratory_by_day),
        make_facility("Ebruzhai", 2, always, laboratory_called),
        make_facility("Quovreth", 2, always, laboratory_by_day),
        make_facility("Nolluvish", 2, always, laboratory_by_day),
        make_facility("Kezhiru", 1, "Mo-Sa 07:00-17:00", {}),
        make_facility("Luzhenni", 1, always, {}),
        make_facility("Tamvrelo", 1, always, {}),
        make_facility("Razhimol", 1, office, {}),
        make_facility("Shuvemra", 1, office, {}),
        make_facility("Mirruzhe", 1, office, {}),
        make_facility("Zhelappu", 0, short_day, {}),
        make_facility("Ovritha", 0, short_day, {}),
        make_facility("Gremvolo", 0, short_day, {}),
        make_facility("Uvrissa", 0, "Mo-Sa 08:00-16:00; PH off", {}),
        make_facility("Thezhanna", 0, short_day, {}),
    };
    for (std::size_t i = 0; i < plans.size(); ++i) {
        const std::string number = std::to_string(101 + i);
        plans[i].phones = {"+99900000" + number};
        if (plans[i].kind == "hospital") {
            plans[i].phones.push_back("+99900001" + number);
        }
    }
    return plans;
}

}  // namespace

const std::vector<FacilityPlan>& facility_plans() {
    static const std::vector<FacilityPlan> plans = make_facilities();
    return plans;
}

const std::vector<std::string>& needs_of(const std::string& capability) {
    for (const CapabilityPlan& plan : capability_plans()) {
        if (plan.name == capability) {
            return plan.needs;
        }
    }
    throw std::logic_error("no capability named " + capability);
}

int units_of(const std::string& resource) {
    return resource == "blood" ? 2 : 1;
}

}  // namespace waybourne::sample
