#include "server/district.hpp"

#include "vocabulary/local_date.hpp"

namespace waybourne::server {

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

}  // namespace waybourne::server
