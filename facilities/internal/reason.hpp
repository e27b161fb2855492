#pragma once
/// Reasons as messages: which text, and its values. The words are in texts.en.json.

#include <string>
#include <string_view>

#include "facilities/internal/evidence.hpp"
#include "facilities/service.hpp"
#include "vocabulary/message.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne::facilities {

/// When and where a reason is given.
struct Telling {
    Instant now;
    const TimeZone* zone = nullptr;
};

/// `theatre_team` → `theatre team`.
std::string in_words(std::string_view name);

/// `07:00` on the facility's wall.
std::string clock_time(Instant instant, const TimeZone& zone);

/// "no surgeon until 07:00": the text `id`, or beyond twelve hours from now `id_monday` …, or
/// beyond six days `id_date`.
Message until(const std::string& id, const std::string& what, Instant end, const Telling& telling);

/// "blood last confirmed 3 days ago": the text `id_minutes`, `id_hours` or `id_days`; minutes below
/// two hours, hours below two days.
Message age(const std::string& id, const std::string& what, Instant since, const Telling& telling);

/// A call-in or lead time, in minutes rounded up: "theatre team called in: 30 min".
Message takes(const std::string& id, const std::string& what, Seconds span);

/// Why a resource that is reported not ready is not; `finding` is what counts when she arrives.
Message why_blocked(const Resource& resource, int units, const Finding& finding,
                    const Telling& telling);

/// Why it is not confirmed. `what` is the resource or the capability in words.
Message why_unconfirmed(const std::string& what, const Finding& finding, const Telling& telling);

}  // namespace waybourne::facilities
