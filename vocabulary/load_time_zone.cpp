#include <date/tz.h>

#include <algorithm>
#include <string>

#include "vocabulary/error.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne {

namespace {

/// As far as Debian's zone files list changes of the clock one by one.
const Instant last_listed = std::chrono::sys_days(std::chrono::year{2038} / 1 / 1);

[[noreturn]] void refuse(std::string_view name) {
    std::vector<std::string> known;
    for (const auto& zone : date::get_tzdb().zones) {
        known.push_back(zone.name());
    }
    std::sort(known.begin(), known.end());
    const auto nearest = nearest_name(name, known);
    throw InputError("'" + shortened(name) +
                     "' is not a time zone such as Africa/Blantyre or Etc/GMT" +
                     (nearest ? "; did you mean '" + *nearest + "'?" : ""));
}

}  // namespace

TimeZone load_time_zone(std::string_view name) {
    const date::time_zone* zone = nullptr;
    try {
        zone = date::locate_zone(name);
    } catch (const std::runtime_error&) {
        refuse(name);
    }
    std::vector<OffsetPeriod> periods;
    for (Instant at{Seconds{0}}; at < last_listed;) {
        const date::sys_info info = zone->get_info(at);
        // A change of the name alone (e.g. of the summer-time flag) is no change of the clock.
        if (!periods.empty() && periods.back().offset == info.offset) {
            periods.back().until = info.end;
        } else {
            periods.push_back({at, info.end, info.offset});
        }
        at = info.end;
    }
    return {std::string(name), std::move(periods)};
}

}  // namespace waybourne
