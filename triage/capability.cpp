#include "triage/capability.hpp"

#include <algorithm>

namespace waybourne::triage {

namespace {

constexpr std::array<std::string_view, capability_count> names{
    "parenteral_antibiotics",
    "uterotonics",
    "magnesium_sulfate",
    "manual_placenta_removal",
    "uterine_evacuation",
    "assisted_vaginal_delivery",
    "newborn_resuscitation",
    "operative_delivery",
    "blood_transfusion",
    "oral_antihypertensive",
    "rapid_oral_antihypertensive",
    "parenteral_antihypertensive",
    "iv_fluids",
    "tranexamic_acid",
    "antenatal_corticosteroid",
    "oral_anti_infectives",
    "antimalarial_parenteral",
    "oxygen",
    "vaginal_tear_repair",
    "uterine_tamponade",
    "obstetric_laparotomy",
    "fetal_monitoring",
    "ultrasound",
    "laboratory",
    "skilled_birth",
    "preterm_newborn_care",
    "anticoagulation",
    "insulin_therapy",
    "critical_care",
    "mental_health_emergency",
};

}  // namespace

std::string_view to_name(Capability capability) {
    return names.at(static_cast<std::size_t>(capability));
}

std::optional<Capability> find_capability(std::string_view name) {
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end()) {
        return std::nullopt;
    }
    return static_cast<Capability>(found - names.begin());
}

std::vector<Capability> CapabilitySet::members() const {
    std::vector<Capability> found;
    found.reserve(size());
    for (std::uint64_t left = mask_; left != 0; left &= left - 1) {
        found.push_back(static_cast<Capability>(std::countr_zero(left)));
    }
    return found;
}

}  // namespace waybourne::triage
