#pragma once
/// Other speeds that journeys ask for: offered as a file, and taken into a new speed table only
/// when somebody says so.

#include <string>
#include <string_view>
#include <vector>

#include "coverage/calibration.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// Sources of a table that are this district's own journeys are named so, and the day after it.
inline constexpr std::string_view own_journeys = "journeys_";

/// What journeys say of one speed table.
struct SpeedOffer {
    /// Of the file that the journeys were held against, and its own version.
    std::string table_sha256;
    std::string table_version;
    Instant made_at{};
    /// Journeys whose way is known on today's map.
    std::size_t journeys = 0;
    /// Only those that are offered.
    std::vector<coverage::ClassCalibration> changes;
    bool operator==(const SpeedOffer&) const = default;
};

/// Who takes an offer, and why: it becomes the source of the new figures.
struct Acceptance {
    std::string by;
    std::string why;
    Instant at{};
};

struct AcceptedTable {
    /// The new speed table (JSON).
    std::string text;
    /// Classes of road whose wet speed would have come out above the dry one, the night's above the
    /// day's, or one above the fastest that a table holds, and was cut off there.
    std::vector<std::string> cut_off;
};

/// The table with one row more before each row that a class is in: the same, for that class alone,
/// with its speeds ÷ the time factor. A class that is offered for the dry alone keeps its wet
/// speeds. Where day and night are told apart the night's factor of the row follows; a table has
/// one for both seasons, so the seasons count by their journeys at night. Low, central and high
/// move alike. Nothing else changes; spreads stay.
/// @param table_text the file that the offer is about
/// @throws InputError where it is another file, the offer changes nothing, or who and why are empty
AcceptedTable accepted_table(const std::string& table_text, const SpeedOffer& offer,
                             const Acceptance& acceptance);

}  // namespace waybourne::server
