#include "routing/internal/speed_table_check.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace waybourne::routing {

namespace {

constexpr double fastest_kmh = 150;
/// A standard deviation of an hour after one second of road: beyond any figure that is meant.
constexpr Seconds greatest_spread{3600 * 3600};
constexpr double greatest_detour = 5;

template <typename Word>
bool is_in(const std::vector<Word>& list, Word word) {
    return list.empty() || std::find(list.begin(), list.end(), word) != list.end();
}

/// Checks a whole table, collecting every fault.
class Checker {
public:
    explicit Checker(const SpeedRows& rows) : rows_(rows) {}

    std::vector<FieldError> errors() && {
        for (std::size_t i = 0; i < rows_.rows.size(); ++i) {
            check_row(rows_.rows[i], fmt::format("#/rows/{}", i));
        }
        for (std::size_t i = 0; i < rows_.smoothness.size(); ++i) {
            const std::string place = fmt::format("#/smoothness/{}", i);
            check_factor(rows_.smoothness[i].factor, place + "/factor");
            check_source(rows_.smoothness[i].source, place + "/source");
        }
        check_walking();
        check_ferry();
        check_complete();
        return std::move(errors_);
    }

private:
    void add(std::string place, std::string detail) {
        errors_.push_back({std::move(place), std::move(detail)});
    }

    void check_number(double value, double at_most, const std::string& place) {
        if (!(value > 0 && value <= at_most)) {
            add(place, fmt::format("{} must be more than 0 and at most {}", value, at_most));
        }
    }

    void check_factor(double value, const std::string& place) { check_number(value, 1, place); }

    void check_range(const SpeedRange& range, const std::string& place) {
        check_number(range.low, fastest_kmh, place + "/low");
        check_number(range.high, fastest_kmh, place + "/high");
        if (!(range.low <= range.central && range.central <= range.high)) {
            add(place, fmt::format("{}, {}, {} must be in ascending order", range.low,
                                   range.central, range.high));
        }
    }

    void check_span(Seconds value, Seconds at_most, const std::string& place) {
        if (value < Seconds::zero() || value > at_most) {
            add(place, fmt::format("{} s must be from 0 to {} s", value.count(), at_most.count()));
        }
    }

    void check_source(const std::string& source, const std::string& place) {
        if (rows_.sources.find(source) == rows_.sources.end()) {
            add(place, fmt::format("'{}' is not one of the sources", source));
        }
    }

    void check_row(const SpeedRow& row, const std::string& place) {
        check_range(row.dry_day, place + "/dry_day_kmh");
        check_factor(row.wet_factor, place + "/wet_factor");
        check_factor(row.night_factor, place + "/night_factor");
        check_span(row.dry_spread, greatest_spread, place + "/dry_spread_s");
        check_span(row.wet_spread, greatest_spread, place + "/wet_spread_s");
        check_source(row.source, place + "/source");
        check_source(row.factor_source, place + "/factor_source");
        check_source(row.spread_source, place + "/spread_source");
    }

    void check_walking() {
        check_range(rows_.walking_on_road, "#/walking/on_road_kmh");
        check_range(rows_.walking_off_road_dry, "#/walking/off_road_dry_kmh");
        check_range(rows_.walking_off_road_wet, "#/walking/off_road_wet_kmh");
        for (const Estimate estimate : {Estimate::low, Estimate::central, Estimate::high}) {
            if (rows_.walking_off_road_wet.at(estimate) > rows_.walking_off_road_dry.at(estimate)) {
                add("#/walking/off_road_wet_kmh", "walking is faster in the wet than in the dry");
            }
        }
        if (!(rows_.walking_detour >= 1 && rows_.walking_detour <= greatest_detour)) {
            add("#/walking/off_road_detour",
                fmt::format("{} must be from 1 to {}", rows_.walking_detour, greatest_detour));
        }
        check_span(rows_.walking_spread, greatest_spread, "#/walking/spread_s");
        check_source(rows_.walking_source, "#/walking/source");
        check_source(rows_.walking_assumption_source, "#/walking/assumption_source");
    }

    void check_ferry() {
        constexpr Seconds one_day{24 * 3600};
        check_number(rows_.ferry_speed, fastest_kmh, "#/ferry/kmh");
        check_span(rows_.ferry_boarding, one_day, "#/ferry/boarding_minutes");
        check_span(rows_.ferry_assumed_wait, one_day, "#/ferry/wait_without_timetable_minutes");
        check_span(rows_.ferry_spread, greatest_spread, "#/ferry/spread_s");
        check_source(rows_.ferry_source, "#/ferry/source");
    }

    /// Every kind of road must find a row, or it would silently be closed.
    void check_complete() {
        check_source(rows_.assumed_surface_source, "#/assumed_surface/source");
        for (std::size_t i = 0; i < road_class_count; ++i) {
            const auto road_class = static_cast<RoadClass>(i);
            if (road_class == RoadClass::ferry) {
                continue;
            }
            if (rows_.assumed_by_road_class.find(road_class) == rows_.assumed_by_road_class.end()) {
                add("#/assumed_surface/by_road_class",
                    fmt::format("no surface is assumed for '{}'", to_name(road_class)));
            }
            for (std::size_t j = 0; j < surface_class_count; ++j) {
                check_covered(road_class, static_cast<SurfaceClass>(j));
            }
        }
    }

    void check_covered(RoadClass road_class, SurfaceClass surface) {
        for (std::size_t i = 0; i < track_type_count; ++i) {
            const RoadKind kind{road_class, surface, static_cast<TrackType>(i)};
            const bool is_covered =
                std::any_of(rows_.rows.begin(), rows_.rows.end(),
                            [&](const SpeedRow& row) { return fits(row, kind); });
            if (!is_covered) {
                add("#/rows",
                    fmt::format("no row fits a road of class '{}', surface '{}', track type '{}'",
                                to_name(road_class), to_name(surface), to_name(kind.track_type)));
            }
        }
    }

    const SpeedRows& rows_;
    std::vector<FieldError> errors_;
};

}  // namespace

bool fits(const SpeedRow& row, const RoadKind& kind) {
    return is_in(row.road_classes, kind.road_class) && is_in(row.surfaces, kind.surface) &&
           is_in(row.track_types, kind.track_type);
}

std::vector<FieldError> check_speed_rows(const SpeedRows& rows) {
    return Checker{rows}.errors();
}

}  // namespace waybourne::routing
