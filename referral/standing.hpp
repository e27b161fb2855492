#pragma once
/// Which of a referral's events stand, and in what order they happened.

#include <span>
#include <vector>

#include "referral/event.hpp"

namespace waybourne::referral {

/// By occurred_at, then recorded_at, then id: the one order in which events are told.
bool happened_before(const Event& one, const Event& other);

struct Standing {
    /// Those that count, in the order of `happened_before`. Without `withdrawn`.
    std::vector<Event> events;
    /// Of a ring of events that correct one another: what they correct is left out of account.
    std::vector<EventId> in_a_ring;
};

/// An event with `corrects` stands in place of the one it names, whichever of the two came first;
/// `withdrawn` puts nothing in its place. Of several that correct the same event the last one
/// counts (by recorded_at, then id). A correction can be corrected again; withdrawing it brings
/// back what was before.
///
/// A function of the set of events: neither their order nor copies of one event matter.
/// @param events ids are unique but for copies; of events that share an id without being copies the
///               least counts
/// O(n log n), and O(n) more for each link of the longest chain of corrections.
Standing standing(std::span<const Event> events);

}  // namespace waybourne::referral
