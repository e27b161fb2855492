#include "triage/protocol.hpp"

#include <algorithm>

namespace waybourne::triage {

std::optional<FieldId> Protocol::find_field(std::string_view name) const {
    const auto place = std::lower_bound(
        fields_by_name.begin(), fields_by_name.end(), name,
        [](const auto& named, std::string_view wanted) { return named.first < wanted; });
    if (place == fields_by_name.end() || place->first != name) {
        return std::nullopt;
    }
    return place->second;
}

std::string name_text(const std::string& id) {
    return "triage.name." + id;
}

}  // namespace waybourne::triage
