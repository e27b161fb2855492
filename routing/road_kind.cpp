#include "routing/road_kind.hpp"

#include <algorithm>
#include <array>

namespace waybourne::routing {

namespace {

// In the order of the enumerations.
constexpr std::array<std::string_view, road_class_count> road_classes{
    "motorway",     "trunk",       "primary",       "secondary", "tertiary",
    "unclassified", "residential", "living_street", "service",   "pedestrian",
    "track",        "path",        "ferry"};
constexpr std::array<std::string_view, surface_class_count> surface_classes{"paved", "unpaved",
                                                                            "earth"};
constexpr std::array<std::string_view, track_type_count> track_types{"unknown", "grade1", "grade2",
                                                                     "grade3",  "grade4", "grade5"};
constexpr std::array<std::string_view, smoothness_count> smoothnesses{
    "unknown",  "good",     "intermediate",  "bad",
    "very_bad", "horrible", "very_horrible", "impassable"};

template <typename Enum, std::size_t count>
std::optional<Enum> find_in(const std::array<std::string_view, count>& names,
                            std::string_view name) {
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end()) {
        return std::nullopt;
    }
    return static_cast<Enum>(found - names.begin());
}

}  // namespace

std::string_view to_name(RoadClass road_class) {
    return road_classes[static_cast<std::size_t>(road_class)];
}

std::string_view to_name(SurfaceClass surface) {
    return surface_classes[static_cast<std::size_t>(surface)];
}

std::string_view to_name(TrackType track_type) {
    return track_types[static_cast<std::size_t>(track_type)];
}

std::string_view to_name(Smoothness smoothness) {
    return smoothnesses[static_cast<std::size_t>(smoothness)];
}

std::optional<RoadClass> find_road_class(std::string_view name) {
    return find_in<RoadClass>(road_classes, name);
}

std::optional<SurfaceClass> find_surface_class(std::string_view name) {
    return find_in<SurfaceClass>(surface_classes, name);
}

std::optional<TrackType> find_track_type(std::string_view name) {
    return find_in<TrackType>(track_types, name);
}

std::optional<Smoothness> find_smoothness(std::string_view name) {
    return find_in<Smoothness>(smoothnesses, name);
}

}  // namespace waybourne::routing
