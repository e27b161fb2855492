#include "facilities/facility.hpp"

#include <algorithm>
#include <set>
#include <string_view>

#include "facilities/offered.hpp"
#include "facilities/report.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::facilities {

namespace {

using triage::Capability;
using triage::CapabilitySet;

constexpr std::size_t longest_id = 100;
constexpr std::size_t longest_name = 300;
constexpr Seconds longest_lead = 7 * 24h;
constexpr int most_units = 1000;

bool is_made_of(std::string_view text, std::string_view extra) {
    return !text.empty() && text.size() <= longest_id &&
           std::all_of(text.begin(), text.end(), [&](char c) {
               return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') ||
                      extra.find(c) != std::string_view::npos;
           });
}

bool is_lead(Seconds lead) {
    return lead >= Seconds{0} && lead <= longest_lead;
}

void check_identity(const Facility& facility, std::vector<FieldError>& errors) {
    if (!is_made_of(facility.id.value(), "_-")) {
        errors.push_back({"#/id", "'" + shortened(facility.id.value()) +
                                      "' is not an id: 1 to 100 of a-z, 0-9, _ and -"});
    }
    if (facility.name.empty() || facility.name.size() > longest_name) {
        errors.push_back({"#/name", "a name of 1 to 300 bytes is needed"});
    }
    try {
        load_time_zone(facility.time_zone);
    } catch (const InputError& error) {
        errors.push_back({"#/time_zone", error.what()});
    }
}

void check_resource(const Resource& resource, std::vector<FieldError>& errors) {
    const std::string pointer = "#/resources/" + resource.name;
    if (!is_made_of(resource.name, "_")) {
        errors.push_back(
            {pointer, "'" + shortened(resource.name) + "' is not a name: a-z, 0-9 and _"});
    }
    if (triage::find_capability(resource.name) || resource.name == to_name(WholeFacility{})) {
        errors.push_back({pointer, "'" + resource.name + "' means something else in reports"});
    }
    if (resource.on_call && !resource.hours) {
        errors.push_back(
            {pointer + "/on_call", "needs hours too: when it is there without a call, or off"});
    }
    if (!resource.on_call && resource.call_in != Seconds{0}) {
        errors.push_back({pointer + "/call_in_minutes", "needs on_call: when it can be called in"});
    }
    if (!is_lead(resource.call_in)) {
        errors.push_back({pointer + "/call_in_minutes", "is 0 to 10080 minutes"});
    }
}

void check_needs(const Service& service, const std::vector<std::string>& resources,
                 std::vector<FieldError>& errors) {
    const std::string pointer = "#/services/" + std::string(triage::to_name(service.capability));
    std::set<std::string> seen;
    for (std::size_t i = 0; i < service.needs.size(); ++i) {
        const Dependency& need = service.needs[i];
        const std::string at = pointer + "/needs/" + std::to_string(i);
        if (std::find(resources.begin(), resources.end(), need.resource) == resources.end()) {
            const auto nearest = nearest_name(need.resource, resources);
            errors.push_back({at, "'" + shortened(need.resource) +
                                      "' is not a resource of this facility" +
                                      (nearest ? "; did you mean '" + *nearest + "'?" : "")});
        }
        if (!seen.insert(need.resource).second) {
            errors.push_back({at, "'" + need.resource + "' is needed twice"});
        }
        if (need.units < 1 || need.units > most_units) {
            errors.push_back({at + "/units", "is 1 to 1000"});
        }
    }
    if (!is_lead(service.lead)) {
        errors.push_back({pointer + "/lead_minutes", "is 0 to 10080 minutes"});
    }
}

}  // namespace

std::vector<FieldError> problems_of(const Facility& facility) {
    std::vector<FieldError> errors;
    check_identity(facility, errors);
    std::vector<std::string> resources;
    for (const Resource& resource : facility.resources) {
        check_resource(resource, errors);
        if (std::find(resources.begin(), resources.end(), resource.name) != resources.end()) {
            errors.push_back({"#/resources/" + resource.name, "stands twice"});
        }
        resources.push_back(resource.name);
    }
    CapabilitySet seen;
    for (const Service& service : facility.services) {
        if (seen.contains(service.capability)) {
            errors.push_back(
                {"#/services/" + std::string(triage::to_name(service.capability)), "stands twice"});
        }
        seen.insert(service.capability);
        check_needs(service, resources, errors);
    }
    return errors;
}

std::vector<FieldError> doubts_about(const Facility& facility) {
    struct Implication {
        Capability offered;
        Capability expected;
    };
    static constexpr Implication implications[] = {
        {Capability::obstetric_laparotomy, Capability::operative_delivery},
        {Capability::operative_delivery, Capability::iv_fluids},
        {Capability::operative_delivery, Capability::oxygen},
        {Capability::operative_delivery, Capability::parenteral_antibiotics},
        {Capability::blood_transfusion, Capability::laboratory},
        {Capability::antenatal_corticosteroid, Capability::preterm_newborn_care},
    };
    const CapabilitySet offered = offered_by(facility);
    std::vector<FieldError> doubts;
    for (const Implication& implication : implications) {
        if (offered.contains(implication.offered) && !offered.contains(implication.expected)) {
            const std::string name(triage::to_name(implication.offered));
            doubts.push_back(
                {"#/services/" + name, "offers " + name + " without " +
                                           std::string(triage::to_name(implication.expected)) +
                                           ": is that so?"});
        }
    }
    return doubts;
}

}  // namespace waybourne::facilities
