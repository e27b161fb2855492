#pragma once
/// A plan while plans are compared: its stops, what she gets at each, and its merits.

#include <vector>

#include "referral/care.hpp"

namespace waybourne::referral {

/// One place of a plan. All times by `allow`.
struct Stop {
    std::size_t place = 0;
    /// From where she was before.
    Instant departs{};
    routing::TravelTime travel_time;
    /// One per need met here, in the order of needs; never empty.
    std::vector<Care> care = {};

    Instant arrives() const { return departs + travel_time.allow; }
    /// When the last need met here begins to be met.
    Instant care_begun() const;
    bool is_unconfirmed() const;
};

struct Plan {
    std::vector<Stop> stops;
    /// Needs she is sent for and does not get.
    std::vector<std::size_t> unmet = {};
    Merits merits = {};

    bool is_unconfirmed() const;
    bool has_stop_at(std::size_t place) const;
    std::size_t last_place() const { return stops.back().place; }
};

/// The plan of these stops, weighed as choice.hpp says. Of `stops` only the care decides.
Plan make_plan(const Situation& situation, std::vector<Stop> stops);

/// The lateness a need has when care begins at `begins`; zero without a deadline.
double lateness_at(const Situation& situation, std::size_t need, Instant begins);

}  // namespace waybourne::referral
