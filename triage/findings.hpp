#pragma once
/// All that was measured and asked about one woman, as it was given.

#include <map>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "triage/answer.hpp"
#include "triage/capability.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::triage {

/// One measurement of pressure and pulse, kept together. Figures as they were read off: whether
/// they are plausible is for `assess` to say. mmHg and beats per minute.
struct Reading {
    Instant taken_at{};
    std::optional<int> systolic;
    std::optional<int> diastolic;
    std::optional<int> pulse;
    bool operator==(const Reading&) const = default;
};

/// One given value: an answer to a danger sign, a measurement in the field's unit, or the wire name
/// of a choice.
using FindingValue = std::variant<Answer, double, std::string>;

/// Everything may be missing; what is missing is unknown. Field names are those the protocol
/// declares; `assess` refuses others.
struct Findings {
    /// When the findings were complete: deadlines run from here. None: from `now`.
    std::optional<Instant> at;
    /// In the order taken; `assess` sorts them by time.
    std::vector<Reading> readings;
    std::map<std::string, FindingValue, std::less<>> values;
    /// What the clinic she is at can give her at this moment.
    CapabilitySet available_here;
    bool operator==(const Findings&) const = default;
};

}  // namespace waybourne::triage
