#include "facilities/report.hpp"

namespace waybourne::facilities {

std::string to_name(const ReportSubject& about) {
    if (const auto* capability = std::get_if<triage::Capability>(&about)) {
        return std::string(triage::to_name(*capability));
    }
    if (const auto* resource = std::get_if<ResourceName>(&about)) {
        return resource->value;
    }
    return "whole_facility";
}

}  // namespace waybourne::facilities
