#include "routing/speed_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "routing/internal/speed_table_check.hpp"

namespace waybourne::routing {

namespace {

constexpr std::uint16_t no_row = std::numeric_limits<std::uint16_t>::max();

bool contains(const std::vector<Means>& list, Means means) {
    return std::find(list.begin(), list.end(), means) != list.end();
}

bool is_vehicle(Means means) {
    return means == Means::car || means == Means::motorcycle || means == Means::four_wheel_drive;
}

std::size_t index_of(const RoadKind& kind) {
    return (static_cast<std::size_t>(kind.road_class) * surface_class_count +
            static_cast<std::size_t>(kind.surface)) *
               track_type_count +
           static_cast<std::size_t>(kind.track_type);
}

RoadKind kind_at(std::size_t index) {
    return {static_cast<RoadClass>(index / track_type_count / surface_class_count),
            static_cast<SurfaceClass>(index / track_type_count % surface_class_count),
            static_cast<TrackType>(index % track_type_count)};
}

}  // namespace

double SpeedRange::at(Estimate estimate) const {
    switch (estimate) {
        case Estimate::low:
            return low;
        case Estimate::central:
            return central;
        case Estimate::high:
            return high;
    }
    return central;
}

SpeedTable::SpeedTable(SpeedRows rows) : rows_(std::move(rows)) {
    std::vector<FieldError> errors = check_speed_rows(rows_);
    if (!errors.empty()) {
        const std::string what =
            fmt::format("the speed table has {} errors, the first: {}: {}", errors.size(),
                        errors.front().pointer, errors.front().detail);
        throw InputError(what, std::move(errors));
    }
    for (std::size_t i = 0; i < kind_count; ++i) {
        const RoadKind kind = kind_at(i);
        const auto row = std::find_if(rows_.rows.begin(), rows_.rows.end(),
                                      [&](const SpeedRow& one) { return fits(one, kind); });
        const bool has_row = row != rows_.rows.end() && kind.road_class != RoadClass::ferry;
        row_of_kind_[i] = has_row ? static_cast<std::uint16_t>(row - rows_.rows.begin()) : no_row;
    }
    row_of_smoothness_.fill(no_row);
    for (std::size_t i = rows_.smoothness.size(); i-- > 0;) {
        row_of_smoothness_[static_cast<std::size_t>(rows_.smoothness[i].smoothness)] =
            static_cast<std::uint16_t>(i);
    }
}

std::optional<RoadSpeed> SpeedTable::speed(const RoadKind& kind, RoadConditions conditions,
                                           Means means, Estimate estimate) const {
    const SpeedRow* row = find_row(kind);
    if (row == nullptr) {
        return std::nullopt;
    }
    if (means == Means::on_foot) {
        return RoadSpeed{rows_.walking_on_road.at(estimate), rows_.walking_spread};
    }
    if (!is_vehicle(means)) {
        return std::nullopt;
    }
    const bool is_wet = conditions.surface == Surface::wet;
    double speed = row->dry_day.at(estimate);
    speed *= is_wet ? row->wet_factor : 1.0;
    speed *= conditions.light == Light::night ? row->night_factor : 1.0;
    const std::uint16_t rough = row_of_smoothness_[static_cast<std::size_t>(kind.smoothness)];
    if (rough != no_row) {
        if (contains(rows_.smoothness[rough].closed_to, means)) {
            return std::nullopt;
        }
        speed *= rows_.smoothness[rough].factor;
    }
    if (is_wet && contains(row->closed_when_wet_to, means)) {
        return std::nullopt;
    }
    if (kind.maxspeed_kmh > 0) {
        speed = std::min(speed, static_cast<double>(kind.maxspeed_kmh));
    }
    return RoadSpeed{speed, is_wet ? row->wet_spread : row->dry_spread};
}

const SpeedRow* SpeedTable::find_row(const RoadKind& kind) const {
    const std::uint16_t row = row_of_kind_[index_of(kind)];
    return row == no_row ? nullptr : &rows_.rows[row];
}

RoadSpeed SpeedTable::walking_off_road(Surface surface, Estimate estimate) const {
    const SpeedRange& range =
        surface == Surface::wet ? rows_.walking_off_road_wet : rows_.walking_off_road_dry;
    return {range.at(estimate), rows_.walking_spread};
}

SurfaceClass SpeedTable::surface_class(std::string_view surface, TrackType track_type,
                                       RoadClass road_class) const {
    const auto known = rows_.surface_of.find(surface);
    if (known != rows_.surface_of.end()) {
        return known->second;
    }
    const auto by_track_type = rows_.assumed_by_track_type.find(track_type);
    if (by_track_type != rows_.assumed_by_track_type.end()) {
        return by_track_type->second;
    }
    const auto by_class = rows_.assumed_by_road_class.find(road_class);
    return by_class != rows_.assumed_by_road_class.end() ? by_class->second : SurfaceClass::earth;
}

}  // namespace waybourne::routing
