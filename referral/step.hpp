#pragma once
/// Which steps are possible now, and how an impossible one is refused.

#include <optional>
#include <span>
#include <vector>

#include "referral/life.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::referral {

/// Whether the step is possible now. Everything that depends on more than the kind (a place to
/// divert to, an outcome for each person) is for `refusal`.
bool is_possible(const Life& life, EventKind kind);

/// The same of one event: a step of the vehicle that takes her over on the way is judged by how far
/// that vehicle has come.
bool is_possible(const Life& life, const Event& event);

/// Whether the event is a step of the vehicle that takes her over on the way: it names that vehicle
/// or, where she was given another vehicle after she had left, no other.
bool is_of_takeover(const Life& life, const Event& event);

/// In the order of `event_kinds`; never empty, since a mistake can always be withdrawn.
std::vector<EventKind> possible_now(const Life& life);

/// A "no" to a live call, with what is possible instead.
struct Refusal {
    /// With the values `step`, `state` and `possible`: wire names with spaces.
    Message why;
    State state{};
    std::vector<EventKind> possible = {};
    bool operator==(const Refusal&) const = default;
};

/// Whether a live call may add `event`; none: it may. What comes late from an offline queue is
/// never refused: add it, and `life_of` flags it. A correction is judged by the events as they are
/// with it. An event that is there already is no error: it is the same call again.
std::optional<Refusal> refusal(std::span<const Event> events, const Event& event);

/// What the event lacks for its kind; empty: nothing. Of persons it cannot tell: see `refusal`.
std::optional<Message> missing_in(const Event& event);

/// A message of this room with steps and states put into the words of the catalogue, by the texts
/// `referral.event.<kind>` and `referral.state.<state>`.
Message with_steps_in_words(Message message, const Catalogue& catalogue);

}  // namespace waybourne::referral
