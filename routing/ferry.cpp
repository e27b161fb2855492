#include "routing/ferry.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "vocabulary/error.hpp"
#include "vocabulary/local_date.hpp"

namespace waybourne::routing {

namespace {

using std::chrono::minutes;

constexpr minutes one_week{7 * 24 * 60};

void check(const Sailing& sailing) {
    if (sailing.from < minutes::zero() || sailing.from >= one_week || sailing.to < sailing.from ||
        sailing.to > one_week) {
        throw InputError(
            fmt::format("a sailing from minute {} to minute {} of the week; allowed is 0 to {}, "
                        "in order",
                        sailing.from.count(), sailing.to.count(), one_week.count()));
    }
}

bool is_one_sailing(const Sailing& sailing) {
    return sailing.from == sailing.to;
}

/// In order, and joined where they touch, so that the ends are in order as well as the beginnings.
std::vector<Sailing> joined(std::vector<Sailing> sailings) {
    std::sort(sailings.begin(), sailings.end());
    std::vector<Sailing> result;
    for (const Sailing& sailing : sailings) {
        const bool touches = !result.empty() && sailing.from <= result.back().to;
        // A sailing at the very end of on-demand hours is none of them.
        const bool is_after = touches && !is_one_sailing(result.back()) &&
                              is_one_sailing(sailing) && sailing.from == result.back().to;
        if (touches && !is_after) {
            result.back().to = std::max(result.back().to, sailing.to);
        } else {
            result.push_back(sailing);
        }
    }
    return result;
}

/// The local time from which to look. At the moment clocks go forward it is the time they would
/// have shown: sailings of the missing hour leave then.
Seconds look_from(const TimeZone& zone, Instant at) {
    return std::min(zone.local(at).since_1970, zone.local(at - Seconds{1}).since_1970 + Seconds{1});
}

}  // namespace

Timetable::Timetable(std::string_view zone, std::vector<Sailing> sailings)
    : zone_(std::make_shared<const TimeZone>(load_time_zone(zone))) {
    std::for_each(sailings.begin(), sailings.end(), check);
    sailings_ = joined(std::move(sailings));
}

std::optional<Instant> Timetable::next_departure(Instant at) const {
    if (sailings_.empty()) {
        return std::nullopt;
    }
    const Seconds local = look_from(*zone_, at);
    const LocalDay day = day_of({local});
    const std::chrono::weekday weekday{day};
    Seconds monday = (day - (weekday - std::chrono::Monday)).time_since_epoch();
    auto sailing =
        std::partition_point(sailings_.begin(), sailings_.end(), [&](const Sailing& candidate) {
            const Seconds end = monday + candidate.to;
            return is_one_sailing(candidate) ? end < local : end <= local;
        });
    // Each sailing is one fixed span of real time; the first that has not ended is the answer. More
    // than one step is taken only where clocks go back. Two weeks on, every sailing is ahead.
    while (true) {
        if (sailing == sailings_.end()) {
            sailing = sailings_.begin();
            monday += one_week;
        }
        const auto instant = [&](minutes of_week) { return zone_->earliest({monday + of_week}); };
        const Instant end = instant(sailing->to);
        if (is_one_sailing(*sailing) ? end >= at : end > at) {
            return std::max(at, instant(sailing->from));
        }
        ++sailing;
    }
}

bool Timetable::operator==(const Timetable& other) const {
    return zone() == other.zone() && sailings_ == other.sailings_;
}

}  // namespace waybourne::routing
