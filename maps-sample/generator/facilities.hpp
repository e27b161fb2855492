#pragma once
/// The twenty facilities, what they offer and what was last heard of them.

#include <string>
#include <vector>

#include "maps-sample/generator/plane.hpp"

namespace waybourne::sample {

/// People, stock, things, power or room that services rest on. The words are those of
/// docs/howto/import-facilities.md.
struct ResourcePlan {
    std::string name;
    std::string kind;
    /// Empty: whenever the service is open.
    std::string hours;
    std::string on_call;
    int call_in_minutes = 0;
};

struct FacilityPlan {
    std::string id;
    std::string name;
    std::string kind;
    Point place;
    std::vector<std::string> phones;
    std::string hours;
    std::vector<std::string> capabilities;
    std::vector<ResourcePlan> resources;
};

/// Three hospitals, six health centres, six clinics, five health posts.
const std::vector<FacilityPlan>& facility_plans();

/// What a capability rests on: names of resources.
const std::vector<std::string>& needs_of(const std::string& capability);

/// Of blood: what one woman takes. Of everything else one.
int units_of(const std::string& resource);

}  // namespace waybourne::sample
