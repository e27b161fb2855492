#pragma once
/// How fast one travels on a kind of road under road conditions, and where each figure is from.

#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "routing/road_conditions.hpp"
#include "routing/road_kind.hpp"
#include "routing/route.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::routing {

/// The low, central or high figure of a range: routes use the central, planners run all three.
enum class Estimate : std::uint8_t { low, central, high };

/// Speed, and the variance of travel time per second of its median (so that cutting an arc in two
/// changes nothing): V = spread × M.
struct RoadSpeed {
    double kilometres_per_hour = 0;
    Seconds spread{};
    bool operator==(const RoadSpeed&) const = default;
};

/// Where figures are from. An assumption is a source too: `is_measured` is false then.
struct SpeedSource {
    std::string text;
    bool is_measured = false;
    bool operator==(const SpeedSource&) const = default;
};

/// In km/h; 0 < low <= central <= high <= 150.
struct SpeedRange {
    double low = 0;
    double central = 0;
    double high = 0;
    double at(Estimate estimate) const;
    bool operator==(const SpeedRange&) const = default;
};

/// One row: the kinds of road it is for (an empty list means any), and what it says of them.
struct SpeedRow {
    std::vector<RoadClass> road_classes;
    std::vector<SurfaceClass> surfaces;
    std::vector<TrackType> track_types;
    SpeedRange dry_day;
    /// 0 < factor <= 1, so that wet is never faster than dry, nor night than day.
    double wet_factor = 1;
    double night_factor = 1;
    Seconds dry_spread{};
    Seconds wet_spread{};
    std::vector<Means> closed_when_wet_to;
    /// Names of sources: of the speeds, of the factors, of the spreads.
    std::string source;
    std::string factor_source;
    std::string spread_source;
    bool operator==(const SpeedRow&) const = default;
};

/// What a rough surface does: a factor, and whom it keeps out.
struct SmoothnessRow {
    Smoothness smoothness = Smoothness::unknown;
    double factor = 1;
    std::vector<Means> closed_to;
    std::string source;
    bool operator==(const SmoothnessRow&) const = default;
};

/// The content of the file `routing/data/speeds.json`.
struct SpeedRows {
    std::string version;
    std::map<std::string, SpeedSource> sources;

    /// From values of the OpenStreetMap key `surface` to their class.
    std::map<std::string, SurfaceClass, std::less<>> surface_of;
    /// What is assumed where the map has no surface or one not listed: by track type first, then by
    /// road class (every class but `ferry`).
    std::map<TrackType, SurfaceClass> assumed_by_track_type;
    std::map<RoadClass, SurfaceClass> assumed_by_road_class;
    std::string assumed_surface_source;

    /// The first row that fits a kind of road counts.
    std::vector<SpeedRow> rows;
    std::vector<SmoothnessRow> smoothness;

    SpeedRange walking_on_road;
    SpeedRange walking_off_road_dry;
    SpeedRange walking_off_road_wet;
    /// The walk is this many times the straight line, where there is no road; 1 to 5.
    double walking_detour = 1;
    Seconds walking_spread{};
    std::string walking_source;
    std::string walking_assumption_source;

    /// Before a ferry whose timetable is not known.
    Seconds ferry_assumed_wait{};
    /// For a ferry whose crossing time the map lacks: speed in km/h, and boarding on top.
    double ferry_speed = 0;
    Seconds ferry_boarding{};
    Seconds ferry_spread{};
    std::string ferry_source;
    bool operator==(const SpeedRows&) const = default;
};

/// Speeds by kind of road. Immutable; share it freely between threads.
class SpeedTable {
public:
    /// @throws InputError naming every kind of road without a row, every figure out of range and
    ///         every source that is not listed
    explicit SpeedTable(SpeedRows rows);

    /// The speed on a kind of road; none where it is not passable by that means then, e.g. a
    /// `smoothness` too rough for a car. The speed limit, if known, caps vehicles and is never a
    /// speed by itself. Vehicles share the speeds of their row. None for boats and ferries. Fords
    /// and seasonal roads are closed by the arc's own marks, not here. O(1).
    std::optional<RoadSpeed> speed(const RoadKind& kind, RoadConditions conditions, Means means,
                                   Estimate estimate = Estimate::central) const;

    /// The row behind a figure, so that an answer can be traced; none for a ferry.
    const SpeedRow* find_row(const RoadKind& kind) const;

    /// Walking where no road is. The distance is the straight line times `rows().walking_detour`.
    RoadSpeed walking_off_road(Surface surface, Estimate estimate = Estimate::central) const;

    /// From a value of the key `surface` (may be empty), or assumed. O(log surfaces).
    SurfaceClass surface_class(std::string_view surface, TrackType track_type,
                               RoadClass road_class) const;

    const SpeedRows& rows() const { return rows_; }

private:
    static constexpr std::size_t kind_count =
        road_class_count * surface_class_count * track_type_count;

    SpeedRows rows_;
    std::array<std::uint16_t, kind_count> row_of_kind_{};
    std::array<std::uint16_t, smoothness_count> row_of_smoothness_{};
};

/// Reads the speed table file (JSON).
/// @throws InputError with every wrong, missing or unknown entry
SpeedTable parse_speed_table(std::string_view json);

}  // namespace waybourne::routing
