#pragma once
/// Whether a place can give one kind of care at one moment, how surely, and why not.

#include <optional>
#include <vector>

#include "triage/capability.hpp"
#include "vocabulary/message.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::facilities {

enum class ReadinessState {
    ready,        ///< all it depends on is confirmed to hold at that time
    ready_by,     ///< will be ready at `ready_at`: it opens, or the team is called in
    not_ready,    ///< known not to be, and no time is known at which it will
    unconfirmed,  ///< something it depends on was last heard of too long ago, or never
};

/// The answer for one capability of one facility at one time. Never without a reason when it is not
/// `ready`, unless it was asked for without them.
struct Readiness {
    triage::Capability capability{};
    ReadinessState state = ReadinessState::unconfirmed;
    /// When care can begin at the earliest, arrival being the asked time. Equal to that time when
    /// ready at once; none when not ready at all. For `unconfirmed`: if all is well.
    std::optional<Instant> ready_at;
    /// Probability that it is ready then, by the decay of what was last reported (design: two-state
    /// continuous-time Markov chain). 1 for what needs no report; 0 for not ready.
    double chance = 0;
    /// The oldest report it rests on. None: nothing was ever reported, or nothing needs to be.
    std::optional<Instant> reported_at;
    std::vector<Message> reasons;
    bool operator==(const Readiness&) const = default;
};

}  // namespace waybourne::facilities
