#pragma once
/// What a road is like: the words by which speeds are looked up.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

namespace waybourne::routing {

/// The classes of the OpenStreetMap key `highway` that lead somewhere; links (`trunk_link`) count
/// as their road. `path` also stands for footway, bridleway, cycleway and steps; `unclassified`
/// also for `road` (class not known).
enum class RoadClass : std::uint8_t {
    motorway,
    trunk,
    primary,
    secondary,
    tertiary,
    unclassified,
    residential,
    living_street,
    service,
    pedestrian,
    track,
    path,
    ferry,
};
inline constexpr std::size_t road_class_count = 13;

/// `paved`: asphalt, concrete, paving stones …; `unpaved`: gravel, compacted, laterite …; `earth`:
/// ground, dirt, mud, sand, grass …
enum class SurfaceClass : std::uint8_t { paved, unpaved, earth };
inline constexpr std::size_t surface_class_count = 3;

/// The OpenStreetMap key `tracktype`, from solid (grade1) to soft (grade5).
enum class TrackType : std::uint8_t { unknown, grade1, grade2, grade3, grade4, grade5 };
inline constexpr std::size_t track_type_count = 6;

/// The OpenStreetMap key `smoothness`; `excellent` counts as good.
enum class Smoothness : std::uint8_t {
    unknown,
    good,
    intermediate,
    bad,
    very_bad,
    horrible,
    very_horrible,
    impassable,
};
inline constexpr std::size_t smoothness_count = 8;

/// All that the speed table wants to know of a road.
struct RoadKind {
    RoadClass road_class = RoadClass::unclassified;
    SurfaceClass surface = SurfaceClass::unpaved;
    TrackType track_type = TrackType::unknown;
    Smoothness smoothness = Smoothness::unknown;
    /// The legal limit in km/h, 0 where the map has none: a cap, never a speed by itself.
    std::uint8_t maxspeed_kmh = 0;
    bool operator==(const RoadKind&) const = default;
};

/// The words of the OpenStreetMap keys and of the speed table file. Never empty.
std::string_view to_name(RoadClass road_class);
std::string_view to_name(SurfaceClass surface);
std::string_view to_name(TrackType track_type);
std::string_view to_name(Smoothness smoothness);

/// The reverse; none for a word that is not one of them.
std::optional<RoadClass> find_road_class(std::string_view name);
std::optional<SurfaceClass> find_surface_class(std::string_view name);
std::optional<TrackType> find_track_type(std::string_view name);
std::optional<Smoothness> find_smoothness(std::string_view name);

}  // namespace waybourne::routing
