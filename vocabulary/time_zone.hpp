#pragma once
/// Local time at a place, as the time-zone data of the machine has it.

#include <string>
#include <string_view>
#include <vector>

#include "vocabulary/time.hpp"

namespace waybourne {

/// What a clock on the wall shows: seconds since 1970-01-01 00:00 there. Not an `Instant`.
struct LocalTime {
    Seconds since_1970{};
    bool operator==(const LocalTime&) const = default;
    bool operator<(const LocalTime& other) const { return since_1970 < other.since_1970; }
};

/// A local date as days since 1970-01-01.
using LocalDay = std::chrono::local_days;

/// A stretch of time during which the offset from UTC does not change.
struct OffsetPeriod {
    Instant from;
    Instant until;
    Seconds offset{};
};

/// The offsets of one zone from 1970 on, in order. Immutable; share it freely between threads.
/// Exact through 2037, as far as Debian's zone files list the changes one by one; later instants
/// keep the last offset listed.
class TimeZone {
public:
    /// UTC.
    TimeZone();
    /// @param periods in order, without holes; the first counts before it too, the last after it
    TimeZone(std::string name, std::vector<OffsetPeriod> periods);

    const std::string& name() const { return name_; }
    /// The period that holds at `instant`. O(log changes).
    const OffsetPeriod& period_at(Instant instant) const;
    LocalTime local(Instant instant) const {
        return {instant.time_since_epoch() + period_at(instant).offset};
    }
    /// The first moment at which clocks there show `local`; where they jump over it, the moment of
    /// the jump. O(log changes).
    Instant earliest(LocalTime local) const;
    const std::vector<OffsetPeriod>& periods() const { return periods_; }

private:
    std::string name_ = "Etc/UTC";
    std::vector<OffsetPeriod> periods_;
};

/// The zone of an IANA name such as `Africa/Blantyre`: on a server from the machine's zone files
/// (package tzdata, read with Howard Hinnant's date library), on a phone from what its pack
/// brought.
/// @throws InputError for a name that the time-zone data does not have, with the nearest known one
TimeZone load_time_zone(std::string_view name);

}  // namespace waybourne
