#pragma once
/// Which of a referral's events stand, and in what order they happened.

#include <span>
#include <vector>

#include "referral/event.hpp"

namespace waybourne::referral {

struct Standing {
    /// Those that count, by (occurred_at, recorded_at, id). Without `withdrawn`.
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
