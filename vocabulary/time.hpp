#pragma once
/// Spans and moments of time, and who may ask what time it is.

#include <chrono>
#include <string>
#include <string_view>

namespace waybourne {

using namespace std::chrono_literals;

/// A span of time. May be negative where a name says so (a margin).
using Seconds = std::chrono::seconds;

/// A moment, in UTC, to the second.
using Instant = std::chrono::sys_seconds;

/// An instant in the form of RFC 3339 with the offset `Z`, e.g. `2026-03-04T09:40:00Z`.
/// The form has four digits for a year: one outside 0 to 9999 comes out as the nearest of these.
std::string to_rfc3339(Instant instant);

/// Reads an RFC 3339 instant with any offset (`Z`, `+02:00`, …); a fraction of a second is cut off.
/// A leap second (`:60`) counts as the second after it.
/// @throws InputError saying what was given and what is expected
Instant parse_rfc3339(std::string_view text);

/// Whole minutes, rounded up: "in 41 minutes" is never shorter than the truth. Negative spans are
/// rounded towards zero.
std::chrono::minutes ceil_minutes(Seconds span);

/// Where "now" comes from. Only `server/` holds one; every other function takes an `Instant now`.
class Clock {
public:
    virtual ~Clock() = default;
    virtual Instant now() const = 0;
};

/// The machine's clock.
class SystemClock final : public Clock {
public:
    Instant now() const override;
};

}  // namespace waybourne
