#include "facilities/service.hpp"

#include <algorithm>

namespace waybourne::facilities {

namespace {

constexpr std::array<std::string_view, resource_kind_count> kind_names{
    "staff", "stock", "blood", "equipment", "power", "space"};

}  // namespace

std::string_view to_name(ResourceKind kind) {
    return kind_names[static_cast<std::size_t>(kind)];
}

std::optional<ResourceKind> find_resource_kind(std::string_view name) {
    const auto* const found = std::find(kind_names.begin(), kind_names.end(), name);
    if (found == kind_names.end()) {
        return std::nullopt;
    }
    return static_cast<ResourceKind>(found - kind_names.begin());
}

}  // namespace waybourne::facilities
