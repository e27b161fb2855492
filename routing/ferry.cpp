#include "routing/ferry.hpp"

#include <date/tz.h>
#include <fmt/format.h>

#include <algorithm>

#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

using std::chrono::minutes;

constexpr minutes one_week{7 * 24 * 60};

const date::time_zone* find_zone(const std::string& name) {
    try {
        return date::locate_zone(name);
    } catch (const std::runtime_error&) {
        throw InputError(fmt::format("time zone '{}' is not in the IANA time zone database", name));
    }
}

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
date::local_seconds look_from(const date::time_zone& zone, Instant at) {
    return std::min(zone.to_local(at), zone.to_local(at - Seconds{1}) + Seconds{1});
}

}  // namespace

Timetable::Timetable(std::string zone, std::vector<Sailing> sailings)
    : zone_name_(std::move(zone)), zone_(find_zone(zone_name_)) {
    std::for_each(sailings.begin(), sailings.end(), check);
    sailings_ = joined(std::move(sailings));
}

std::optional<Instant> Timetable::next_departure(Instant at) const {
    if (sailings_.empty()) {
        return std::nullopt;
    }
    const date::local_seconds local = look_from(*zone_, at);
    const date::local_days day = date::floor<date::days>(local);
    date::local_days monday = day - (date::weekday{day} - date::Monday);
    auto sailing =
        std::partition_point(sailings_.begin(), sailings_.end(), [&](const Sailing& candidate) {
            const auto end = monday + Seconds{candidate.to};
            return is_one_sailing(candidate) ? end < local : end <= local;
        });
    // Each sailing is one fixed span of real time; the first that has not ended is the answer. More
    // than one step is taken only where clocks go back. Two weeks on, every sailing is ahead.
    while (true) {
        if (sailing == sailings_.end()) {
            sailing = sailings_.begin();
            monday += date::weeks{1};
        }
        const auto instant = [&](minutes of_week) {
            return zone_->to_sys(monday + Seconds{of_week}, date::choose::earliest);
        };
        const Instant end = instant(sailing->to);
        if (is_one_sailing(*sailing) ? end >= at : end > at) {
            return std::max(at, instant(sailing->from));
        }
        ++sailing;
    }
}

bool Timetable::operator==(const Timetable& other) const {
    return zone_name_ == other.zone_name_ && sailings_ == other.sailings_;
}

}  // namespace waybourne::routing
