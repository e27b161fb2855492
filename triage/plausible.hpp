#pragma once
/// Which of the given values can be believed (`clinical.md` a.3 and a.4).
///
/// A refused value counts as unknown and never lowers urgency: it is asked for first.

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "triage/assessment.hpp"
#include "triage/findings.hpp"
#include "triage/protocol.hpp"

namespace waybourne::triage {

/// What is doubtful about a number.
enum class Doubt : std::uint8_t {
    none,
    outside,          ///< outside what is accepted: refused (PLA-3)
    wrong_unit,       ///< outside, and as if in another unit: refused (PLA-4)
    gap,              ///< systolic not far enough above diastolic: both refused (PLA-1)
    confirm_outside,  ///< unusual: to be confirmed
    confirm_gap,      ///< unusual distance of the two pressures: to be confirmed (PLA-2)
};

constexpr bool is_refused(Doubt doubt) {
    return doubt == Doubt::outside || doubt == Doubt::wrong_unit || doubt == Doubt::gap;
}

/// The three numbers of a reading, in the order systolic, diastolic, pulse.
using ReadingNumbers = std::array<std::optional<double>, 3>;

/// The field of each of the three numbers.
std::array<FieldId, 3> reading_fields(const ReadingRules& rules);

/// One reading after the checks.
struct CheckedReading {
    Instant taken_at{};
    ReadingNumbers given = {};
    /// As given, where it was accepted.
    ReadingNumbers accepted = {};
    std::array<Doubt, 3> doubts = {};
    /// Refused for being extreme: acts as severe until a later complete set (PLA-9).
    bool not_recordable = false;

    bool is_complete() const { return accepted[0] && accepted[1] && accepted[2]; }
    bool is_empty() const { return !accepted[0] && !accepted[1] && !accepted[2]; }
};

/// Checks one number of a field by its own limits.
Doubt check_number(const Field& field, double value);

/// Checks the numbers of one reading by their limits and against each other.
///
/// A refused pair whose systolic is under `low_systolic` counts as not recordable, unless
/// exchanging its two numbers gives a pair that is neither low nor narrow: then it was swapped.
CheckedReading check_reading(const Protocol& protocol, Instant taken_at,
                             const ReadingNumbers& given);

/// All findings after the checks.
struct CheckedFindings {
    /// What can be believed, without the numbers of readings.
    Situation answers;
    /// In the order given.
    std::vector<CheckedReading> readings;
    /// Every refused value, in the order of the fields.
    std::vector<Refused> refused;
    std::vector<Refused> confirm;
    /// The fields of refused values, in order.
    std::vector<FieldId> refused_fields;
};

/// @throws InputError for a field that the protocol does not declare (with the nearest one it
///         does), a value of the wrong type, an unknown choice, a time after `now`, or more than
///         `most_readings`
CheckedFindings check_findings(const Protocol& protocol, const Findings& findings, Instant now);

inline constexpr std::size_t most_readings = 48;

/// A number as a person writes it: no needless digits.
std::string to_words(double number);

}  // namespace waybourne::triage
