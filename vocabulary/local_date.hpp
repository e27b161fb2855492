#pragma once
/// What a calendar and a clock on the wall show.

#include <chrono>

#include "vocabulary/time_zone.hpp"

namespace waybourne {

/// The date there. Of it `std::chrono::year_month_day` and `std::chrono::weekday` are made.
inline LocalDay day_of(LocalTime local) {
    return LocalDay{std::chrono::floor<std::chrono::days>(local.since_1970)};
}

/// The time that the clock shows, from midnight: at least zero, below 24 hours.
inline Seconds time_of_day(LocalTime local) {
    return local.since_1970 - day_of(local).time_since_epoch();
}

}  // namespace waybourne
