#pragma once
/// What a search knows of a way so far, and how it grows. Every engine uses these same rules, so
/// that they agree to the tenth of a second.

#include <algorithm>
#include <compare>
#include <cstdint>
#include <optional>

#include "routing/arc_value.hpp"
#include "routing/ferry.hpp"
#include "routing/metric.hpp"

namespace waybourne::routing {

/// The best way to one node. Ordered as the search prefers: least typical time; then no ferry
/// rather than one, and of ferries the one whose allowed sailing is earliest; then least spread.
struct Label {
    /// Since departure, waiting included.
    std::uint32_t typical_ds = closed_ds;
    /// When the last timetabled ferry left: the sailing that the allowed arrival catches, and the
    /// one that the typical arrival catches. Both since departure; 0 without such a ferry.
    std::uint32_t allowed_sailing_ds = 0;
    /// Since the last timetabled ferry left, or since departure.
    std::uint64_t variance_ds2 = 0;
    std::uint32_t typical_sailing_ds = 0;

    auto operator<=>(const Label&) const = default;

    static constexpr Label start() { return {0, 0, 0, 0}; }
    bool is_reached() const { return typical_ds < closed_ds; }
    /// The 90th percentile since departure.
    std::uint32_t allowed_ds() const;
    TravelTime travel_time() const { return to_travel_time(typical_ds, allowed_ds()); }
};

/// A spread stays at this, that of ±1.8 h, instead of growing on; what one should allow is then too
/// little. Roads alone reach it after days: at 60 s of variance per second after 8. A wait for a
/// ferry without timetable gives less than a quarter of it at most (`wait_weight`), so only a way
/// with several such waits of hours each passes it.
inline constexpr std::uint64_t greatest_variance_ds2 = 0xffffffffU;

/// One more part of the way. Not reached where that is closed or too long to be counted.
inline Label extended(const Label& label, const Weight& weight) {
    const std::uint32_t typical = label.typical_ds + weight.typical_ds;
    if (typical >= closed_ds) {
        return {};
    }
    return {typical, label.allowed_sailing_ds,
            std::min(greatest_variance_ds2, label.variance_ds2 + weight.variance_ds2),
            label.typical_sailing_ds};
}

/// The longest typical time within a limit; 0 for a negative one.
std::uint32_t limit_in_ds(Seconds limit);

/// A label without a clock as a value of the hierarchy.
TimeAndSpread to_value(const Label& label);
/// The label that stands for a value that was added up without a clock.
Label to_label(TimeAndSpread value);

/// At the moment the ferry leaves, having waited for it. Not reached where it never sails again.
/// @param departure when the whole trip started
Label aboard(const Label& label, const Timetable& timetable, Instant departure);

/// At the moment one may set out on a road that is open at these hours: at once where both the
/// typical and the allowed arrival find it open, else as with a ferry. Not reached where it never
/// opens again.
Label let_through(const Label& label, const Timetable& hours, Instant departure);

/// Across one arc, waiting for its ferry or its hours where it has a timetable.
Label across(const Label& label, const Metric& metric, ArcId arc, Instant departure);

}  // namespace waybourne::routing
