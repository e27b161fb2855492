#include "server/district.hpp"

#include <algorithm>

#include "vocabulary/local_date.hpp"

namespace waybourne::server {

namespace {

using routing::Light;
using routing::Surface;

std::optional<Instant> next_dusk(const District& district, const TimeZone& zone, Instant after) {
    for (LocalDay day = day_of(zone.local(after)), end = day + std::chrono::days{3}; day < end;
         day += std::chrono::days{1}) {
        const Instant dusk =
            zone.earliest(LocalTime{day.time_since_epoch() + Seconds{district.daylight.until}});
        if (dusk > after && expected_conditions(district, zone, dusk).light == Light::night) {
            return dusk;
        }
    }
    return std::nullopt;
}

std::optional<Instant> next_rains(const District& district, const TimeZone& zone, Instant after) {
    if (!district.wet_season) {
        return std::nullopt;
    }
    const int from = district.wet_season->from.month_and_day;
    const std::chrono::year_month_day today{day_of(zone.local(after))};
    for (auto year = today.year(), end = year + std::chrono::years{2}; year < end; ++year) {
        const std::chrono::month month{static_cast<unsigned>(from) / 32U};
        const std::chrono::day day{static_cast<unsigned>(from) % 32U};
        const Instant first =
            zone.earliest(LocalTime{LocalDay{year / month / day}.time_since_epoch()});
        if (first > after) {
            return first;
        }
    }
    return std::nullopt;
}

}  // namespace

routing::RoadConditions expected_conditions(const District& district, const TimeZone& zone,
                                            Instant at) {
    const LocalTime local = zone.local(at);
    const std::chrono::year_month_day date{day_of(local)};
    const DayOfYear today{static_cast<int>(static_cast<unsigned>(date.month()) * 32U +
                                           static_cast<unsigned>(date.day()))};
    routing::RoadConditions conditions;
    if (district.wet_season) {
        const auto& [from, until] = *district.wet_season;
        const bool is_wet =
            from <= until ? from <= today && today <= until : from <= today || today <= until;
        conditions.surface = is_wet ? routing::Surface::wet : routing::Surface::dry;
    }
    const Seconds time = time_of_day(local);
    const bool is_light = district.daylight.from <= time && time < district.daylight.until;
    conditions.light = is_light ? routing::Light::day : routing::Light::night;
    return conditions;
}

routing::RoadConditions worse_of(const routing::RoadConditions& a,
                                 const routing::RoadConditions& b) {
    return {std::max(a.surface, b.surface), std::max(a.light, b.light)};
}

std::optional<Instant> next_worse(const District& district, const TimeZone& zone,
                                  const routing::RoadConditions& than, Instant after) {
    std::optional<Instant> next;
    if (than.light == Light::day) {
        next = next_dusk(district, zone, after);
    }
    if (than.surface == Surface::dry) {
        if (const auto rains = next_rains(district, zone, after)) {
            next = std::min(next.value_or(*rains), *rains);
        }
    }
    return next;
}

}  // namespace waybourne::server
