#pragma once
/// Which readings of several count, and when the next is due (`clinical.md` a.2).
///
/// Nothing is averaged. A result is relaxed only by a complete later set, never by a missing value.

#include <vector>

#include "triage/plausible.hpp"
#include "triage/protocol.hpp"

namespace waybourne::triage {

/// Why a further reading is due.
enum class RepeatDue : std::uint8_t {
    none,
    after_rest,      ///< MEA-1: abnormal, not severe: the next one decides
    at_once,         ///< MEA-2: severe: the worse of the two counts
    third,           ///< MEA-3: severe and not severe disagree: two of three decide
    after_normal,    ///< MEA-4: the repeat was normal
    not_recordable,  ///< PLA-9: a refused extreme acts as severe until a later complete set
    refused,         ///< every number of the latest reading was refused
};

struct StandingReadings {
    /// Places of the readings whose numbers count: for each test the worse one.
    std::vector<std::size_t> places;
    RepeatDue due = RepeatDue::none;
    /// From when the rest before the repeat counts.
    Instant rest_from{};
};

/// What the readings come to, whatever the order they are given in.
///
/// A later complete set takes the place of those before it, unless one of those is severe: then
/// only two complete sets after it that are both not severe do. After an abnormal one it must be
/// taken at least `ReadingRules::rest` later. O(readings²).
StandingReadings standing_readings(const Protocol& protocol,
                                   const std::vector<CheckedReading>& readings);

}  // namespace waybourne::triage
