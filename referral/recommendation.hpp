#pragma once
/// What the whole line answers: where to send her, by what way, by when, and why not elsewhere.

#include <optional>
#include <string>
#include <vector>

#include "facilities/readiness.hpp"
#include "routing/route.hpp"
#include "triage/capability.hpp"
#include "vocabulary/identifier.hpp"
#include "vocabulary/message.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::referral {

enum class Outcome {
    in_time,  ///< every need is met before its deadline, judged by `allow`
    late,     ///< nothing reaches care in time: the least late choice
    nowhere,  ///< no way at all, or no place offers any of it; the reasons say which
    stay,     ///< nothing is needed elsewhere
};

/// A moment that is not sure: the median and the 90th percentile.
struct Expected {
    Instant typical{};
    Instant allow{};
    bool operator==(const Expected&) const = default;
};

/// One stop: a place, what she gets there, and when.
struct Stage {
    FacilityId facility;
    /// The needs met here, by index in the assessment, in its order.
    std::vector<std::size_t> needs = {};
    /// The capability that meets each of `needs`; one may stand twice.
    std::vector<triage::Capability> meets = {};
    /// Leaving later than this makes the tightest need that is met here late. None without
    /// deadline.
    std::optional<Instant> leave_by = {};
    Expected arrival = {};
    /// When the last need met here begins to be met.
    Expected care_begins = {};
    routing::TravelTime travel_time = {};
    Metres distance = {};
    /// Deadline minus time care begins (by `allow`), the smallest over the needs met here;
    /// negative: late. None when no need met here has a deadline.
    std::optional<Seconds> margin = {};
    /// Of each capability in `meets`, asked for the arrival by `allow`.
    std::vector<facilities::Readiness> readiness = {};
    /// Chance that every need met here is met in time: travel spread × readiness confidence. For
    /// dispatchers and planners, never on the health worker's screen.
    double chance_in_time = 0;
    routing::Route route = {};
};

/// One plan: one place, or two in order. `lateness` is the first criterion, see choice.hpp.
struct Choice {
    std::vector<Stage> stages = {};
    double lateness = 0;
    /// From `now` to the last critical need begun, and to the last need begun, by `allow`.
    Seconds last_critical_after{};
    Seconds last_need_after{};
    /// Something it rests on is not confirmed: phone first.
    bool is_unconfirmed = false;
    /// The product of the stages' chances: too low where they hang together. 0 when a need with a
    /// deadline stays unmet.
    double chance_in_time = 0;
    /// Needs (by index in the assessment) that it leaves unmet.
    std::vector<std::size_t> unmet = {};
};

/// A place nearer than the chosen one that was not chosen.
struct PassedOver {
    FacilityId facility;
    /// None: no way there.
    std::optional<routing::TravelTime> travel_time;
    std::vector<Message> reasons = {};
};

/// "Phone X now; yes: go; no, or no answer in `wait`: go to Y."
struct CallFirst {
    FacilityId facility;
    Seconds wait{};
    std::optional<FacilityId> if_declined;
};

struct Recommendation {
    Outcome outcome = Outcome::stay;
    /// None for `stay` and `nowhere`.
    std::optional<Choice> chosen;
    /// At least two where they exist, best first.
    std::vector<Choice> alternatives;
    std::vector<PassedOver> passed_over;
    std::vector<CallFirst> call_first;
    /// What to do until care is reached, and whom to call, when the outcome is late or nowhere.
    std::vector<Message> meanwhile;
    /// Why nowhere; what was assumed (preparation time, transport).
    std::vector<Message> remarks;
    std::vector<Message> cautions;
};

}  // namespace waybourne::referral
