#include "vocabulary/time_zone.hpp"

#include <algorithm>
#include <iterator>

#include "vocabulary/error.hpp"

namespace waybourne {

TimeZone::TimeZone() : TimeZone("Etc/UTC", {{Instant::min(), Instant::max(), Seconds{0}}}) {}

TimeZone::TimeZone(std::string name, std::vector<OffsetPeriod> periods)
    : name_(std::move(name)), periods_(std::move(periods)) {
    if (periods_.empty()) {
        throw InputError("time zone '" + name_ + "' has no offsets");
    }
    periods_.front().from = Instant::min();
    periods_.back().until = Instant::max();
}

const OffsetPeriod& TimeZone::period_at(Instant instant) const {
    const auto after = std::upper_bound(
        periods_.begin(), periods_.end(), instant,
        [](Instant asked, const OffsetPeriod& period) { return asked < period.from; });
    return *std::prev(after);
}

Instant TimeZone::earliest(LocalTime local) const {
    // No clock is more than a day off, so no later period can show it first.
    const OffsetPeriod* period =
        &period_at(Instant{local.since_1970} - Seconds{std::chrono::hours{24}});
    while (true) {
        const Instant shown = std::max(period->from, Instant{local.since_1970 - period->offset});
        if (shown < period->until) {
            return shown;
        }
        ++period;
    }
}

}  // namespace waybourne
